"""What we did with a message, what the modem said and what the report said → what became of it. One table, each row with its source.

The gateway hands a message over segment by segment. *nothing*: no segment was written behind a prompt. *some*: segments left, and a
later one was not handed over, or refused for certain. *all*: every segment was written. From then on only words count that exclude the
one or the other: *accepted* is the modem's own reference (+CMGS: <mr>), *refused* a code that excludes that it left, *doubtful* one that
does not, *doubled* the centre's word that it holds this very message, *silence* no answer at all.

A report speaks of a segment that was accepted, so that only what left is moved by one. A failed segment fails its message, since
what people would read has a hole; delivered is what arrived whole.
"""

from dataclasses import dataclass
from typing import Literal

from gateway.facts import OutState, ReportOutcome
from gateway.ports import SendEnded

Did = Literal["nothing", "some", "all"]
ModemSaid = Literal["accepted", "doubled", "refused", "doubtful", "silence"]
ReportSaid = Literal["none", "trying", "delivered in part", "delivered", "failed"]
Fate = Literal["not left", "may have left", "left", "arrived", "did not arrive"]

STATE_OF: dict[Fate, OutState] = {
    "not left": "waiting",
    "may have left": "unsure",
    "left": "sent",
    "arrived": "delivered",
    "did not arrive": "failed",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    did: Did
    modem: ModemSaid
    report: ReportSaid
    fate: Fate
    source: str


TABLE = (
    Row("nothing", "refused", "none", "not left", "27.005 3.5.1: text is taken behind the prompt only"),
    Row("nothing", "doubtful", "none", "not left", "27.005 3.5.1: whatever the code would say later"),
    Row("nothing", "silence", "none", "not left", "27.005 3.5.1; ESC leaves the prompt, if there was one"),
    Row(
        "some", "refused", "none", "may have left", "23.040 9.2.3.24.1: the first segments left; a repeat doubles them"
    ),
    Row("some", "doubtful", "none", "may have left", "as above"),
    Row("some", "silence", "none", "may have left", "as above"),
    Row("some", "doubled", "none", "may have left", "as above: the centre speaks of one segment"),
    Row("all", "accepted", "none", "left", "27.005 3.5.1: +CMGS: <mr> is given once the network acknowledged"),
    Row("all", "doubled", "none", "left", "23.040 9.2.3.22: 197, the centre holds an equal text"),
    Row("all", "refused", "none", "not left", "24.011 annex E-2, 23.040 9.2.3.22: the code excludes it"),
    Row(
        "all",
        "doubtful",
        "none",
        "may have left",
        "24.011 TR1M and 23.040 clause 10: the acknowledgement may be what was lost",
    ),
    Row("all", "silence", "none", "may have left", "24.011 TR1M; power, line or modem lost"),
    Row("all", "accepted", "trying", "left", "23.040 9.2.3.15: 20-3F; 01, which confirms nothing; 80-FF, reserved"),
    Row("all", "accepted", "delivered in part", "left", "23.040 9.2.3.24.1: segments are reported one by one"),
    Row("all", "accepted", "delivered", "arrived", "23.040 9.2.3.15: 00, 02-1F, for every segment"),
    Row("all", "accepted", "failed", "did not arrive", "23.040 9.2.3.15: 40-7F"),
)
_FATES = {(row.did, row.modem, row.report): row.fate for row in TABLE}


def fate_of(did: Did, modem: ModemSaid, report: ReportSaid = "none") -> Fate:
    """What became of it. Raises KeyError for what cannot come together."""
    return _FATES[did, modem, report]


def fate_after(ended: SendEnded) -> Fate:
    """What became of a message whose sending ended so."""
    match ended.outcome:
        case "sent":
            return fate_of("all", "accepted")
        case "not-sent":
            return fate_of("nothing", "silence")
        case "unsure":
            return fate_of("all", "silence")
        case "refused":
            return fate_of("some" if ended.references else "all", "doubtful" if ended.may_have_left else "refused")


def fate_reported(outcome: ReportOutcome, *, complete: bool) -> Fate:
    """What a report makes of a message that left; `complete`: with it every segment is delivered."""
    said: ReportSaid = "delivered in part" if outcome == "delivered" and not complete else outcome
    return fate_of("all", "accepted", said)
