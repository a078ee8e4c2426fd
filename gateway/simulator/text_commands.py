"""AT commands about texts → answers: memories, announcements, listing, reading, deleting, sending (3GPP TS 27.005)."""

from gateway.simulator.core import Answer, Command, Core, Kind, numbers, words
from gateway.simulator.network import Verdict
from gateway.simulator.pdus import CENTRE, tpdu_octets
from gateway.simulator.sim import Held, Refused

NOT_ALLOWED, NOT_SUPPORTED, INVALID_PDU, INVALID_INDEX = 302, 303, 304, 321
"""+CMS ERROR codes (3.2.5)."""
DS_OF = {"CDS": 1, "CDSI": 2, "none": 0}


def cmgf(core: Core, kind: Kind, arguments: str) -> Answer:
    """PDU mode (0) or text mode (1)."""
    if kind == "read":
        return Answer(lines=(f"+CMGF: {int(core.text_mode)}",))
    if kind == "test":
        return Answer(lines=("+CMGF: (0,1)",))
    if arguments not in ("0", "1"):
        raise Refused()
    core.text_mode = arguments == "1" or core.faults.only_text_mode
    return Answer()


def csms(core: Core, kind: Kind, arguments: str) -> Answer:
    """Which phase of texts it speaks."""
    if kind == "read":
        return Answer(lines=(f"+CSMS: {core.csms},1,1,1",))
    if kind == "test":
        return Answer(lines=("+CSMS: (0,1)",))
    core.csms = int(arguments == "1")
    return Answer(lines=("+CSMS: 1,1,1",))


def csca(core: Core, kind: Kind, arguments: str) -> Answer:
    """The service centre."""
    core.need_sim(texts=True)
    return Answer(lines=(f'+CSCA: "{CENTRE}",145',) if kind == "read" else ())


def cpms(core: Core, kind: Kind, arguments: str) -> Answer:
    """Which memories are used for reading, writing and new texts; how full they are."""
    core.need_sim(texts=True)
    if kind == "test":
        names = ",".join(f'"{name}"' for name in core.habits.memories)
        return Answer(lines=(f"+CPMS: ({names}),({names}),({names})",))
    if kind == "read":
        full = ",".join(f'"{name}",{_fill(core, name)}' for name in core.chosen)
        return Answer(lines=(f"+CPMS: {full}",))
    wanted = words(arguments)
    if not 1 <= len(wanted) <= 3 or not all(core.memories.known(name) for name in wanted):
        raise Refused("CMS", NOT_ALLOWED)
    core.chosen[: len(wanted)] = wanted
    return Answer(lines=(f"+CPMS: {','.join(_fill(core, name) for name in core.chosen)}",))


def cnmi(core: Core, kind: Kind, arguments: str) -> Answer:
    """How new texts and reports are announced."""
    most = DS_OF[core.habits.reports]
    if kind == "read":
        return Answer(lines=(f"+CNMI: {','.join(map(str, core.cnmi))}",))
    if not core.habits.grants_cnmi:
        raise Refused("CMS", NOT_SUPPORTED)
    if kind == "test":
        reports = f"(0,{most})" if most else "(0)"
        return Answer(lines=(f"+CNMI: (0-2),(0-2),(0),{reports},(0,1)",))
    core.need_sim(texts=True)
    asked = (*numbers(arguments, 5), *core.cnmi[len(arguments.split(",")) :])
    mode, new, cells, reports_wanted, buffer = asked
    if mode > 2 or new > 2 or cells or reports_wanted not in (0, most) or buffer > 1:
        raise Refused("CMS", NOT_SUPPORTED)
    core.cnmi = asked
    return Answer()


def cmgl(core: Core, kind: Kind, arguments: str) -> Answer:
    """Lists the reading memory. In text mode the answer is in text mode too: a trap after a reset."""
    core.need_sim(texts=True)
    if kind == "test":
        return Answer(lines=("+CMGL: (0-4)",))
    if core.faults.list_error is not None:
        raise Refused("CMS", core.faults.list_error)
    wanted = words(arguments)[0].upper() if arguments else "0"
    stat = {"ALL": "4", "REC UNREAD": "0", "REC READ": "1"}.get(wanted, wanted)
    if stat not in ("0", "1", "2", "3", "4"):
        raise Refused("CMS", NOT_ALLOWED)
    listed = {slot: held for slot, held in core.memories.of(core.chosen[0]).items() if stat in ("4", str(held.stat))}
    lines: list[str] = []
    for slot, held in listed.items():
        lines += _listed(core, slot, held)
        held.mark_read()
    if listed and core.faults.replace_after_list is not None:
        core.memories.replace(core.chosen[0], min(listed), core.faults.replace_after_list)
        core.faults.replace_after_list = None
    return Answer(lines=tuple(lines))


def cmgr(core: Core, kind: Kind, arguments: str) -> Answer:
    """Reads one slot."""
    core.need_sim(texts=True)
    slot = _slot(core, arguments)
    held = core.memories.of(core.chosen[0]).get(slot)
    if held is None:
        if core.habits.empty_slot == "error":
            raise Refused("CMS", INVALID_INDEX)
        return Answer()
    head = f"+CMGR: {_head(core, held)}"
    held.mark_read()
    if core.faults.replace_after_read is not None:
        core.memories.replace(core.chosen[0], slot, core.faults.replace_after_read)
        core.faults.replace_after_read = None
    return Answer(lines=(head, held.pdu))


def cmgd(core: Core, kind: Kind, arguments: str) -> Answer:
    """Empties one slot, or with the second figure many."""
    core.need_sim(texts=True)
    memory = core.chosen[0]
    if kind == "test":
        return Answer(lines=(f"+CMGD: ({','.join(map(str, core.memories.of(memory)))}),(0-4)",))
    slot = _slot(core, arguments.split(",")[0])
    if core.faults.delete_error is not None:
        raise Refused("CMS", core.faults.delete_error)
    flag = numbers(arguments, 2)[1] if "," in arguments else 0
    if flag == 0:
        core.memories.free(memory, slot)
    for each, held in core.memories.of(memory).items():
        if flag == 4 or (flag and held.stat == 1):
            core.memories.free(memory, each)
    return Answer(then=core.network.bring_waiting)


def cmgs(core: Core, kind: Kind, arguments: str) -> Answer:
    """Asks for the text; what becomes of it is said once it was taken."""
    if kind == "test":
        return Answer()
    core.need_sim(texts=True)
    if core.text_mode:
        number = words(arguments)[0]
        return Answer(prompt=lambda text: _answered(core, core.network.hand_over_text(number, text)))
    length = numbers(arguments, 1)[0]
    return Answer(prompt=lambda text: _taken(core, length, text))


def _taken(core: Core, length: int, text: str) -> Answer:
    try:
        pdu = "".join(text.split())
        if tpdu_octets(pdu) != length:
            raise Refused("CMS", INVALID_PDU)
        return _answered(core, core.network.hand_over(pdu))
    except ValueError:
        raise Refused("CMS", INVALID_PDU) from None


def _answered(core: Core, verdict: Verdict) -> Answer:
    after_s = verdict.after_s + core.habits.send_seconds
    if verdict.family:
        raise Refused(verdict.family, verdict.code, after_s=after_s)
    if verdict.held or core.faults.lost_answers is None or core.faults.lost_answers > 0:
        core.faults.lost_answers = core.faults.lost_answers and max(0, core.faults.lost_answers - 1)
        return Answer(final="")
    return Answer(lines=(f"+CMGS: {verdict.reference}",), after_s=after_s)


def _listed(core: Core, slot: int, held: Held) -> tuple[str, str]:
    if core.text_mode:
        return f'+CMGL: {slot},"REC {"READ" if held.stat else "UNREAD"}","",,', held.pdu
    return f"+CMGL: {slot},{_head(core, held)}", _on_the_wire(core, held.pdu)


def _head(core: Core, held: Held) -> str:
    return f"{held.stat},{core.habits.before_length}{_length(held.pdu)}"


def _on_the_wire(core: Core, pdu: str) -> str:
    if not core.faults.hurt_pdus:
        return pdu
    core.faults.hurt_pdus -= 1
    return pdu[:-2]


def _length(pdu: str) -> int:
    """A slot may hold anything: a fault's octets too."""
    try:
        return tpdu_octets(pdu)
    except ValueError:
        return len(pdu) // 2


def _fill(core: Core, memory: str) -> str:
    return f"{len(core.memories.of(memory))},{core.memories.total(memory)}"


def _slot(core: Core, arguments: str) -> int:
    slot = numbers(arguments, 1)[0]
    if not core.memories.has_slot(core.chosen[0], slot):
        raise Refused("CMS", INVALID_INDEX)
    return slot


TEXT_COMMANDS: dict[str, Command] = {
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
