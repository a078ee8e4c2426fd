"""The configuration, the machine and the modem → what `doctor` says of them. A running daemon's modem is not touched."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from gateway.commands.site_and_store import open_site_store
from gateway.commands.terminal_output import counted, local_time
from gateway.commands.trap_checks import CHECKS
from gateway.errors import ConfigurationWrong, StoreUnwritable
from gateway.facts.states.gateway_itself import ModemCondition, ModemIdentity, ModemUnknownLines
from gateway.gsm.signal_strength import WEAK_PERCENT
from gateway.inbox import clock_trusted
from gateway.modem.probe import answers_at, candidates
from gateway.ports import MemoryRoom
from gateway.service.calendar_jobs import room_of_store, store_folder
from gateway.settings.load import load, mode_problem
from gateway.settings.models import Settings
from gateway.settings.problem_locator import problem_line
from gateway.site import Site
from gateway.status.gateway_troubles import disk_wrong, trouble_since
from gateway.status.memory_room import is_nearly_full, room_in
from gateway.storage import holder

PROBLEMS_SHOWN = 3
UNKNOWN_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that `doctor` looked at: what it is; whether that is right (None: unknown); what was found; what helps."""

    what: str
    right: bool | None
    text: str
    remedy: str = ""


def configuration_finding(file: str) -> tuple[Settings | None, Finding]:
    """The settings if the configuration holds, and what is to be said of it."""
    try:
        loaded = load(file, CHECKS)
    except ConfigurationWrong as mistakes:
        text = "; ".join(problem_line(problem) for problem in mistakes.problems[:PROBLEMS_SHOWN])
        return None, Finding(what="configuration", right=False, text=text, remedy="tank-gateway check")
    readable_by_all = mode_problem(file)
    if readable_by_all is not None:
        wrong, remedy = readable_by_all.wrong, readable_by_all.right
        return loaded.settings, Finding(what="configuration", right=False, text=wrong, remedy=remedy)
    notes = f", {counted(len(loaded.warnings), 'note')} (tank-gateway check)" if loaded.warnings else ""
    return loaded.settings, Finding(what="configuration", right=True, text=f"{file} holds{notes}")


def machine_findings(site: Site, now: datetime) -> Iterator[Finding]:
    """The clock and the disk of the store."""
    trusted = clock_trusted(now)
    yield Finding(
        what="clock",
        right=trusted,
        text=local_time(now, site.zone),
        remedy="" if trusted else "the clock was never set: connect the board to a network, or set it by hand",
    )
    bytes_free_of = room_of_store(site.settings)
    if bytes_free_of is not None:
        full = disk_wrong(*bytes_free_of)
        yield Finding(
            what="disk",
            right=not full,
            text=f"{bytes_free_of[0] / 1e9:.1f} GB free in {store_folder(site.settings)}",
            remedy="make room, or give the store another place" if full else "",
        )


def modem_findings(site: Site) -> Iterator[Finding]:
    """What the daemon saw of it last; without a daemon, whether something answers at its port."""
    modem = site.settings.modem
    try:
        runs = holder(site.settings.store.url, site.settings.site.name) is not None
    except StoreUnwritable:  # said where the daemon is looked for
        return
    if runs:
        yield from _as_the_daemon_saw_it(site)
    elif modem.device == "simulated":
        yield Finding(what="modem", right=True, text="simulated")
    else:
        yield from _at_its_port(modem.device, modem.baud)


def _at_its_port(device: str, baud: int) -> Iterator[Finding]:
    if Path(device).exists():
        answers = answers_at(device, baud)
        yield Finding(
            what="modem",
            right=answers,
            text=f"{device} {'answers AT' if answers else 'does not answer AT'}",
            remedy="" if answers else "another of its ports may: see the candidates",
        )
    else:
        yield Finding(what="modem", right=False, text=f"there is no {device}", remedy="plug it in; see the candidates")
    for name, description in candidates():
        yield Finding(what="candidate", right=None, text=f"{name}: {description}")


def _as_the_daemon_saw_it(site: Site) -> Iterator[Finding]:
    with open_site_store(site.settings).read() as reader:
        modem, condition = reader.state(ModemIdentity), reader.state(ModemCondition)
        lost = trouble_since(reader, "modem-lost") or trouble_since(reader, "sim-trouble")
        unknown = reader.state(ModemUnknownLines)
    yield _modem(modem, f"lost since {local_time(lost, site.zone)}: see above" if lost else "")
    if unknown is not None and unknown.lines:
        shapes = ", ".join(f"{shape} ({times} times)" for shape, times in unknown.lines[-UNKNOWN_SHOWN:])
        text = f"says what the gateway does not know: {shapes}"
        yield Finding(
            what="modem's lines",
            right=None,
            text=text,
            remedy="tank-gateway modem --report FILE, for somebody who does",
        )
    if condition is None:
        yield from (_sim(None, known=False), _network(None, None), _signal(None))
        return
    # What was seen before the modem was lost says nothing of now.
    yield from _memories(condition)
    yield _sim(condition.sim, known=lost is None)
    yield _network(None if lost else condition.registered, condition.operator)
    yield _signal(None if lost else condition.signal_percent)


def _modem(modem: ModemIdentity | None, lost: str) -> Finding:
    seen = "not seen yet" if modem is None else modem.model + (f" ({'; '.join(modem.notes)})" if modem.notes else "")
    return Finding(what="modem", right=False if lost else modem is not None or None, text=seen, remedy=lost)


def _memories(condition: ModemCondition) -> Iterator[Finding]:
    """How full each is for good, and of what: drafts on a SIM are nobody's to delete but its owner's."""
    for kept in condition.memories:
        memory = MemoryRoom(name=kept.name, total=kept.total, own=kept.own, stuck=kept.stuck, is_read=kept.is_read)
        full, room = is_nearly_full(memory), room_in(memory)
        parts = ["cannot be read"] if not kept.is_read else []
        parts += [f"{kept.own} drafts or sent messages in it, which are left alone"] if kept.own else []
        parts += [f"{counted(kept.stuck, 'text')} in it that the modem does not delete"] if kept.stuck else []
        parts += [f"room for {counted(max(0, room), 'text')}"] if room is not None else []
        wrong = full or not kept.is_read
        remedy = "take the SIM out and empty it in a phone" if full else "try the SIM in a phone" if wrong else ""
        yield Finding(what=f"memory {kept.name}", right=not wrong, text=", ".join(parts) or "in use", remedy=remedy)


def _sim(state: str | None, *, known: bool) -> Finding:
    return Finding(
        what="SIM",
        right=None if state is None or not known else state == "ready",
        text=state or "unknown",
        remedy="" if state in (None, "ready") else "do what it says; a PUK is entered in a phone",
    )


def _network(registered: bool | None, operator: str | None) -> Finding:
    return Finding(
        what="network",
        right=registered,
        text=operator or "unknown",
        remedy="" if registered is not False else "no network: move the antenna, look at the SIM's contract",
    )


def _signal(percent: float | None) -> Finding:
    weak = percent is not None and percent < WEAK_PERCENT
    return Finding(
        what="signal",
        right=None if percent is None else not weak,
        text=f"{percent:.0f} %" if percent is not None else "unknown",
        remedy="weak: a higher or freer place for the antenna, or one outside" if weak else "",
    )
