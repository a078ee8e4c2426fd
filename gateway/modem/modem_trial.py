"""An unknown modem, tried step by step: what it answers to each question, and whether the gateway could work with it.

Nothing is sent, no text is read or deleted, and no PIN is given. At the end it is set up as the daemon would do it, which shows what the
gateway would use.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from gateway.errors import ModemRefused, ModemSilent, ModemTrouble
from gateway.modem.dialogue import Dialogue
from gateway.modem.initialise import IN_WORDS
from gateway.modem.link import Link
from gateway.modem.one_look import opened, session_on
from gateway.modem.trace import Masker, Trace, TracedWire
from gateway.modem.unknown_lines import UnknownLines
from gateway.ports import Condition, ModemReady

STEPS = (
    ("answers", "AT", False),
    ("results in words", IN_WORDS, False),
    ("who made it", "AT+CGMI", True),
    ("its model", "AT+CGMM", True),
    ("its revision", "AT+CGMR", True),
    ("no echo", "ATE0", False),
    ("errors as numbers", "AT+CMEE=1", False),
    ("the SIM", "AT+CPIN?", False),
    ("PDU mode", "AT+CMGF=0", False),
    ("text service", "AT+CSMS?", False),
    ("memories on offer", "AT+CPMS=?", False),
    ("memories now", "AT+CPMS?", False),
    ("announcements on offer", "AT+CNMI=?", False),
    ("announcements now", "AT+CNMI?", False),
    ("the service centre", "AT+CSCA?", False),
    ("signal", "AT+CSQ", False),
    ("registered", "AT+CREG?", False),
    ("registered in LTE", "AT+CEREG?", False),
    ("registered for packets", "AT+CGREG?", False),
    ("the operator", "AT+COPS?", False),
)
"""(what it is about, the command, whether its answer has no prefix)."""
Outcome = Literal["granted", "refused", "silent"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One question and its answer, masked."""

    what: str
    command: str
    outcome: Outcome
    said: tuple[str, ...]
    took_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """`ready`, `condition`: as the daemon would have it; None and `trouble`, in words, where it could not work with this modem."""

    steps: tuple[Step, ...]
    ready: ModemReady | None
    condition: Condition | None
    trouble: str | None
    unknown: tuple[tuple[str, int], ...]


def try_modem(
    device: str, baud: int, *, trace: Trace | None, delivery_reports: bool, progress: Callable[[Step], None]
) -> Trial:
    """Every step; each is told as it ends. Raises ModemTrouble where the port cannot be opened."""
    with opened(device, baud) as link:
        wire = link if trace is None else TracedWire(link, trace)
        return _tried(wire, delivery_reports, progress)


def _tried(wire: Link | TracedWire, delivery_reports: bool, progress: Callable[[Step], None]) -> Trial:
    unknown, masker = UnknownLines(), Masker()
    dialogue = Dialogue(wire, time.monotonic, lambda news: None, unknown=unknown.note)
    dialogue.resynchronise(within_s=1.0)
    steps = []
    for what, command, bare in STEPS:
        step = _step(dialogue, masker, what, command, bare=bare)
        progress(step)
        steps.append(step)
        if step.outcome == "silent" and command == IN_WORDS:
            break
    ready, condition, trouble = _set_up(dialogue, delivery_reports)
    return Trial(
        steps=tuple(steps), ready=ready, condition=condition, trouble=trouble, unknown=unknown.take_changed() or ()
    )


def _step(dialogue: Dialogue, masker: Masker, what: str, command: str, *, bare: bool) -> Step:
    began_s = time.monotonic()
    masker.masked(command)
    outcome: Outcome = "granted"
    try:
        said = tuple(masker.masked(line) for line in dialogue.command(command, bare=bare))
    except ModemRefused as refused:
        outcome, said = "refused", (f"error {refused.code}" if refused.code is not None else refused.raw or "ERROR",)
    except ModemSilent:
        outcome, said = "silent", ()
        dialogue.resynchronise(within_s=1.0)
    return Step(what=what, command=command, outcome=outcome, said=said, took_s=round(time.monotonic() - began_s, 3))


def _set_up(dialogue: Dialogue, delivery_reports: bool) -> tuple[ModemReady | None, Condition | None, str | None]:
    session = session_on(dialogue, delivery_reports=delivery_reports)
    try:
        return session.initialise(), session.gauges.read(), None
    except ModemTrouble as trouble:
        return None, None, trouble.said
