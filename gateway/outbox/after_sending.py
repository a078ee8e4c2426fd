"""A message and how its sending ended → where it stands next. Decisions are values; handlers carry them out.

`sending` is written before the modem is given anything: what stands there at a start is *unsure* and goes again, marked as a
possible repeat, later each time, so that a board that boots over and over floods nobody. What became of it is read off the table in
`delivery.py`. A refusal is for never, for
later or our side, as the modem's room judges it; all but the first come back after 1, 2, 4 … 60 minutes and are given up after
77 tries, which by these waits take three days. Tries are counted, not hours: a clock that was set meanwhile ends nothing. What
our own SIM, modem or network is to blame for never ends a message. One that cannot be told is given up on record, and then the
others are told that.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Message, OutState, ReportOutcome
from gateway.outbox.delivery import STATE_OF, fate_after, fate_reported
from gateway.ports import SendEnded

FIRST_BACK_OFF = timedelta(minutes=1)
LONGEST_BACK_OFF = timedelta(minutes=60)
JITTER_SHARE = 0.1
UNSURE_WAIT = timedelta(seconds=30)
NOT_SENT_WAIT = timedelta(seconds=5)
TRIES = 77
"""63 minutes for the first six waits, then one an hour: three days (the network may be away for two, fault 15)."""

UNSURE_TRIES = 3
"""So often a message is handed over while its fate is lost: it left at most three times, twice of it marked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What becomes of a message; None: as it was. `give_up`: it ends here, and somebody else should know."""

    state: OutState
    tries: int
    not_before: datetime | None = None
    possible_repeat: bool | None = None
    give_up: bool = False
    why: str = ""


def after_send(message: Message, ended: SendEnded, now: datetime, jitter: float = 0.0) -> Change:
    """How it goes on; `jitter` 0..1 spreads the waits by up to a tenth."""
    tries = message.tries + 1
    match ended.outcome:
        case "sent":
            return Change(state="sent", tries=tries)
        case "not-sent":
            return _again(message, message.tries, now + NOT_SENT_WAIT, ended.said)
        case "unsure":
            return _unsure(message, tries, ended.said, now, jitter)
        case "refused":
            return _refused(message, tries, ended, now, jitter)


def after_report(outcome: ReportOutcome, *, complete: bool) -> OutState | None:
    """What a delivery report makes of a sent message; None: nothing new. `complete`: every segment arrived."""
    fate = fate_reported(outcome, complete=complete)
    return None if fate == "left" else STATE_OF[fate]


def at_start(message: Message, now: datetime) -> Change | None:
    """What the last run left: a message that was being handed over may have left."""
    if message.state != "sending":
        return None
    tries = message.tries + 1
    wait = back_off(tries, 0) if message.possible_repeat else timedelta(0)
    return Change(
        state="unsure", tries=tries, not_before=now + wait, possible_repeat=True, why="cut off while it was handed over"
    )


def back_off(tries: int, jitter: float) -> timedelta:
    """1, 2, 4 … 60 minutes after so many tries (from 1)."""
    doubled: int = 1 << min(max(tries - 1, 0), 10)
    wait = min(FIRST_BACK_OFF * doubled, LONGEST_BACK_OFF)
    return wait * (1 + JITTER_SHARE * min(max(jitter, 0.0), 1.0))


def _unsure(message: Message, tries: int, said: str, now: datetime, jitter: float) -> Change:
    if not message.possible_repeat:
        return Change(state="unsure", tries=tries, not_before=now + UNSURE_WAIT, possible_repeat=True, why=said)
    if tries >= UNSURE_TRIES:
        return Change(state="failed", tries=tries, give_up=True, why="its fate was lost each time")
    return Change(state="unsure", tries=tries, not_before=now + back_off(tries, jitter), possible_repeat=True, why=said)


def _refused(message: Message, tries: int, ended: SendEnded, now: datetime, jitter: float) -> Change:
    if ended.verdict == "never" or (tries >= TRIES and ended.verdict != "our side"):
        return Change(state="failed", tries=tries, give_up=True, why=ended.why)
    when = now + back_off(tries, jitter)
    if fate_after(ended) == "may have left":
        # +CMS 332, 500, 41 behind the text exclude nothing: once these counted as not sent, and repeats left unmarked
        return Change(state="unsure", tries=tries, not_before=when, possible_repeat=True, why=ended.why)
    return _again(message, tries, when, ended.why)


def _again(message: Message, tries: int, when: datetime, why: str) -> Change:
    """It waits; what may have left already stays unsure, so that it leaves marked."""
    state: OutState = "unsure" if message.possible_repeat else "waiting"
    return Change(state=state, tries=tries, not_before=when, why=why)
