"""A message and how its sending ended → where it stands next. Decisions are values; the flow carries them out.

`sending` is written before the modem is given anything: what stands there at a start is *unsure* and goes again, marked as a
possible repeat. Refusals are permanent or passing by the code table; passing ones come back after 1, 2, 4 … 60 minutes, for
two days. A message that cannot be told is given up on record, and then the others are told that.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts import Message, OutState, ReportOutcome
from gateway.outbox.codes import meaning, permanent
from gateway.ports import SendEnded

FIRST_BACK_OFF = timedelta(minutes=1)
LONGEST_BACK_OFF = timedelta(minutes=60)
UNSURE_WAIT = timedelta(seconds=30)
NOT_SENT_WAIT = timedelta(seconds=5)
GIVE_UP_AFTER = timedelta(hours=72)
"""The network may be away for two days (fault 15); a day more, and what there was to tell is history."""

UNSURE_TRIES = 3


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
    if ended.outcome == "sent":
        return Change(state="sent", tries=tries)
    if ended.outcome == "not-sent":
        return _again(message, message.tries, now + NOT_SENT_WAIT, ended.said, now)
    if ended.outcome == "unsure":
        if tries >= UNSURE_TRIES:
            return Change(state="failed", tries=tries, give_up=True, why="its fate was lost each time")
        return Change(state="unsure", tries=tries, not_before=now + UNSURE_WAIT, possible_repeat=True, why=ended.said)
    why = meaning(ended.family, ended.code)
    if permanent(ended.family, ended.code):
        return Change(state="failed", tries=tries, give_up=True, why=why)
    return _again(message, tries, now + back_off(tries, jitter), why, now)


def after_report(outcome: ReportOutcome, *, complete: bool) -> OutState | None:
    """What a delivery report makes of a sent message; None: nothing new."""
    if outcome == "failed":
        return "failed"
    return "delivered" if outcome == "delivered" and complete else None


def at_start(message: Message, now: datetime) -> Change | None:
    """What the last run left: a message that was being handed over may have left."""
    if message.state != "sending":
        return None
    return Change(
        state="unsure", tries=message.tries, not_before=now, possible_repeat=True, why="cut off while sending"
    )


def back_off(tries: int, jitter: float) -> timedelta:
    """1, 2, 4 … 60 minutes."""
    doubled: int = 1 << min(max(tries - 1, 0), 10)
    wait = min(FIRST_BACK_OFF * doubled, LONGEST_BACK_OFF)
    return wait * (1 + 0.1 * jitter)


def _again(message: Message, tries: int, when: datetime, why: str, now: datetime) -> Change:
    state: Literal["unsure", "waiting"] = "unsure" if message.possible_repeat else "waiting"
    if now - message.at > GIVE_UP_AFTER:
        return Change(state="failed", tries=tries, give_up=True, why=why or "it could not leave in three days")
    return Change(state=state, tries=tries, not_before=when, why=why)
