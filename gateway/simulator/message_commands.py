"""AT commands about texts → answers: memories, announcements, listing, reading, deleting, sending (3GPP TS 27.005)."""

from gateway.simulator.modem_state import Answer, Command, Kind, ModemState, numbers, words
from gateway.simulator.network import Verdict
from gateway.simulator.pdus import CENTRE, tpdu_octets
from gateway.simulator.sim_card import Held, Refused

NOT_ALLOWED, NOT_SUPPORTED, INVALID_PDU, INVALID_INDEX = 302, 303, 304, 321
"""+CMS ERROR codes (3.2.5)."""
DS_OF = {"CDS": 1, "CDSI": 2, "none": 0}


def cmgf(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """PDU mode (0) or text mode (1)."""
    if kind == "read":
        return Answer(lines=(f"+CMGF: {int(modem.text_mode)}",))
    if kind == "test":
        return Answer(lines=("+CMGF: (0,1)",))
    if arguments not in ("0", "1"):
        raise Refused()
    modem.text_mode = arguments == "1" or modem.faults.only_text_mode
    return Answer()


def csms(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Which phase of texts it speaks."""
    if kind == "read":
        return Answer(lines=(f"+CSMS: {modem.csms},1,1,1",))
    if kind == "test":
        return Answer(lines=("+CSMS: (0,1)",))
    if modem.habits.phase_2 and arguments != "1":
        raise Refused("CMS", NOT_ALLOWED)
    modem.csms = int(arguments == "1")
    return Answer(lines=("+CSMS: 1,1,1",))


def csca(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """The service centre."""
    modem.need_sim(texts=True)
    return Answer(lines=(f'+CSCA: "{CENTRE}",145',) if kind == "read" else ())


def cpms(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Which memories are used for reading, writing and new texts; how full they are."""
    modem.need_sim(texts=True)
    if kind == "test":
        names, reads = (
            ",".join(f'"{name}"' for name in chosen)
            for chosen in (modem.habits.memories, modem.habits.reads or modem.habits.memories)
        )
        return Answer(lines=(f"+CPMS: ({reads}),({names}),({names})",))
    if kind == "read":
        full = ",".join(f'"{name}",{_fill(modem, name)}' for name in modem.chosen)
        return Answer(lines=(f"+CPMS: {full}",))
    wanted = words(arguments)
    readable = modem.habits.reads
    if not 1 <= len(wanted) <= 3 or not all(modem.memories.known(name) for name in wanted):
        raise Refused("CMS", NOT_ALLOWED)
    if readable is not None and wanted[0] not in readable:
        raise Refused("CMS", NOT_ALLOWED)
    modem.chosen[: len(wanted)] = wanted
    return Answer(lines=(f"+CPMS: {','.join(_fill(modem, name) for name in modem.chosen)}",))


def cnmi(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """How new texts and reports are announced."""
    most = DS_OF[modem.habits.reports]
    if kind == "read":
        return Answer(lines=(f"+CNMI: {','.join(map(str, modem.cnmi))}",))
    if not modem.habits.grants_cnmi:
        raise Refused("CMS", NOT_SUPPORTED)
    if kind == "test":
        reports = f"(0,{most})" if most else "(0)"
        modes, buffers = (",".join(map(str, values)) for values in (modem.habits.modes, modem.habits.buffers))
        return Answer(lines=(f"+CNMI: ({modes}),(0-2),(0),{reports},({buffers})",))
    modem.need_sim(texts=True)
    asked = (*numbers(arguments, 5), *modem.cnmi[len(arguments.split(",")) :])
    mode, new, cells, reports_wanted, buffer = asked
    known = mode in modem.habits.modes and buffer in modem.habits.buffers
    if not known or new > 2 or cells or reports_wanted not in (0, most):
        raise Refused("CMS", NOT_SUPPORTED)
    modem.cnmi = asked
    return Answer()


def cmgl(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Lists the reading memory. In text mode the answer is in text mode too: a trap after a reset."""
    modem.need_sim(texts=True)
    if kind == "test":
        return Answer(lines=("+CMGL: (0-4)",))
    if modem.faults.list_error is not None:
        raise Refused("CMS", modem.faults.list_error)
    wanted = words(arguments)[0].upper() if arguments else "0"
    stat = {"ALL": "4", "REC UNREAD": "0", "REC READ": "1"}.get(wanted, wanted)
    if stat not in ("0", "1", "2", "3", "4"):
        raise Refused("CMS", NOT_ALLOWED)
    listed = {slot: held for slot, held in modem.memories.of(modem.chosen[0]).items() if stat in ("4", str(held.stat))}
    lines: list[str] = []
    for slot, held in listed.items():
        lines += _listed(modem, slot, held)
        held.mark_read()
    if listed and modem.faults.replace_after_list is not None:
        modem.memories.replace(modem.chosen[0], min(listed), modem.faults.replace_after_list)
        modem.faults.replace_after_list = None
    return Answer(lines=tuple(lines))


def cmgr(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Reads one slot."""
    modem.need_sim(texts=True)
    slot = _slot(modem, arguments)
    held = modem.memories.of(modem.chosen[0]).get(slot)
    if held is None:
        if modem.habits.empty_slot == "error":
            raise Refused("CMS", INVALID_INDEX)
        return Answer()
    head = f"+CMGR: {_head(modem, held)}"
    held.mark_read()
    if modem.faults.replace_after_read is not None:
        modem.memories.replace(modem.chosen[0], slot, modem.faults.replace_after_read)
        modem.faults.replace_after_read = None
    return Answer(lines=(head, held.pdu))


def cmgd(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Empties one slot, or with the second figure many."""
    modem.need_sim(texts=True)
    memory = modem.chosen[0]
    if kind == "test":
        return Answer(lines=(f"+CMGD: ({','.join(map(str, modem.memories.of(memory)))}),(0-4)",))
    slot = _slot(modem, arguments.split(",")[0])
    if modem.faults.delete_error is not None:
        raise Refused("CMS", modem.faults.delete_error)
    flag = numbers(arguments, 2)[1] if "," in arguments else 0
    if flag == 0:
        modem.memories.free(memory, slot)
    for each, held in modem.memories.of(memory).items():
        if flag == 4 or (flag and held.stat == 1):
            modem.memories.free(memory, each)
    return Answer(then=modem.network.bring_waiting)


def cmgs(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Asks for the text; what becomes of it is said once it was taken."""
    if kind == "test":
        return Answer()
    modem.need_sim(texts=True)
    if modem.text_mode:
        number = words(arguments)[0]
        return Answer(prompt=lambda text: _answered(modem, modem.network.hand_over_text(number, text)))
    length = numbers(arguments, 1)[0]
    return Answer(prompt=lambda text: _taken(modem, length, text))


def _taken(modem: ModemState, length: int, text: str) -> Answer:
    try:
        pdu = "".join(text.split())
        if tpdu_octets(pdu) != length:
            raise Refused("CMS", INVALID_PDU)
        return _answered(modem, modem.network.hand_over(pdu))
    except ValueError:
        raise Refused("CMS", INVALID_PDU) from None


def _answered(modem: ModemState, verdict: Verdict) -> Answer:
    after_s = verdict.after_s + modem.habits.send_seconds
    if verdict.family:
        raise Refused(verdict.family, verdict.code, after_s=after_s)
    if verdict.held or modem.faults.lost_answers is None or modem.faults.lost_answers > 0:
        modem.faults.lost_answers = modem.faults.lost_answers and max(0, modem.faults.lost_answers - 1)
        return Answer(final="")
    return Answer(lines=(modem.habits.reference_form.format(verdict.reference),), after_s=after_s)


def _listed(modem: ModemState, slot: int, held: Held) -> tuple[str, str]:
    if modem.text_mode:
        return f'+CMGL: {slot},"REC {"READ" if held.stat else "UNREAD"}","",,', held.pdu
    return f"+CMGL: {slot},{_head(modem, held)}", _on_the_wire(modem, held.pdu)


def _head(modem: ModemState, held: Held) -> str:
    return f"{held.stat},{modem.habits.before_length}{_length(held.pdu)}"


def _on_the_wire(modem: ModemState, pdu: str) -> str:
    if not modem.faults.hurt_pdus:
        return pdu
    modem.faults.hurt_pdus -= 1
    return pdu[:-2]


def _length(pdu: str) -> int:
    """A slot may hold anything: a fault's octets too."""
    try:
        return tpdu_octets(pdu)
    except ValueError:
        return len(pdu) // 2


def _fill(modem: ModemState, memory: str) -> str:
    return f"{len(modem.memories.of(memory))},{modem.memories.total(memory)}"


def _slot(modem: ModemState, arguments: str) -> int:
    slot = numbers(arguments, 1)[0]
    if not modem.memories.has_slot(modem.chosen[0], slot):
        raise Refused("CMS", INVALID_INDEX)
    return slot


MESSAGE_COMMANDS: dict[str, Command] = {
    "+CMGF": cmgf,
    "+CSMS": csms,
    "+CSCA": csca,
    "+CPMS": cpms,
    "+CNMI": cnmi,
    "+CMGL": cmgl,
    "+CMGR": cmgr,
    "+CMGD": cmgd,
    "+CMGS": cmgs,
}
