"""A call-out, what happened, and now → the next state and who is told what. Pure; the flow writes the messages.

With `take_within` of 0 everyone is told at once. Else turn by turn: the next turn is told when nobody took it in time, or at
once when every message of this turn was refused or not delivered in time. A landline can be told but cannot take.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.callout.kinds import Matter
from gateway.callout.state import CallOut, next_state
from gateway.settings.models import CallOut as CallOutTable
from gateway.settings.models import Contact

Why = Literal["first", "next-turn", "reminder", "taken", "unanswered"]
Delivery = Literal["waiting", "sent", "delivered", "failed"]
AT_ONCE = timedelta(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tell:
    """One contact hears of it, and why now."""

    contact: str
    why: Why


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The state after, whom to tell, and when to look again."""

    call_out: CallOut
    tell: tuple[Tell, ...] = ()
    due: datetime | None = None


def open_or_join(
    call_out: CallOut | None,
    matter: Matter,
    subject: str,
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """An urgent matter: a new call-out, or one more matter of an open one."""
    if call_out is None:
        first = _turns(contacts, table)[:1]
        turn = first[0] if first else 1
        tell = tuple(Tell(contact=one, why="first") for one in _of_turn(contacts, table, turn))
        new = CallOut(
            state="open",
            matters=(matter,),
            subject=subject,
            opened_at=now,
            turn=turn,
            turn_at=now,
            told={one.contact: now for one in tell},
            reminded_at=now,
        )
        return Step(call_out=new, tell=tell, due=due(new, contacts, table))
    known = tuple(one for one in call_out.matters if one.key != matter.key)
    joined = replace(call_out, state=next_state(call_out.state, "join"), matters=(*known, matter), reminded_at=now)
    if call_out.state == "unanswered":
        joined = replace(joined, turn_at=now)
    tell = tuple(Tell(contact=one, why="first") for one in joined.told)
    return Step(call_out=joined, tell=tell, due=due(joined, contacts, table))


def tick(
    call_out: CallOut,
    delivery: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """Time passes, or a message's fate became known."""
    if call_out.state == "open" and table.take_within > AT_ONCE and _turn_passed(call_out, delivery, table, now):
        return _next_turn(call_out, contacts, table, now)
    waits = call_out.state in ("open", "unanswered")
    if waits and table.remind_every > AT_ONCE and now >= call_out.reminded_at + table.remind_every:
        reminded = replace(call_out, state=next_state(call_out.state, "remind"), reminded_at=now)
        tell = tuple(Tell(contact=one, why="reminder") for one in call_out.told)
        return Step(call_out=reminded, tell=tell, due=due(reminded, contacts, table))
    return Step(call_out=call_out, due=due(call_out, contacts, table))


def take(call_out: CallOut, contact: str, now: datetime) -> Step:
    """Somebody has it; everyone else who was told learns who."""
    if call_out.state == "taken":
        return Step(call_out=call_out)
    taken = replace(call_out, state=next_state(call_out.state, "take"), taken_by=contact, taken_at=now)
    return Step(call_out=taken, tell=tuple(Tell(contact=one, why="taken") for one in call_out.told if one != contact))


def matter_over(call_out: CallOut, key: str) -> CallOut | None:
    """The call-out without that matter; closed when it was the last; None if it was not of it."""
    left = tuple(one for one in call_out.matters if one.key != key)
    if len(left) == len(call_out.matters):
        return None
    if left:
        return replace(call_out, matters=left)
    return replace(call_out, matters=call_out.matters, state=next_state(call_out.state, "all-over"))


def due(call_out: CallOut, contacts: Sequence[Contact], table: CallOutTable) -> datetime | None:
    """When the call-out must be looked at next."""
    times = []
    if call_out.state == "open" and table.take_within > AT_ONCE:
        times.append(call_out.turn_at + table.take_within)
    if call_out.state in ("open", "unanswered") and table.remind_every > AT_ONCE:
        times.append(call_out.reminded_at + table.remind_every)
    return min(times, default=None)


def _turn_passed(call_out: CallOut, delivery: Mapping[str, Delivery], table: CallOutTable, now: datetime) -> bool:
    if now >= call_out.turn_at + table.take_within:
        return True
    this_turn = [one for one, at in call_out.told.items() if at == call_out.turn_at]
    late = now >= call_out.turn_at + table.delivered_within
    missed = [
        one for one in this_turn if delivery.get(one) == "failed" or (late and delivery.get(one) in ("waiting", "sent"))
    ]
    return bool(this_turn) and len(missed) == len(this_turn)


def _next_turn(call_out: CallOut, contacts: Sequence[Contact], table: CallOutTable, now: datetime) -> Step:
    later = [turn for turn in _turns(contacts, table) if turn > call_out.turn]
    if not later:
        over = replace(call_out, state=next_state("open", "last-turn-passes"), reminded_at=now)
        tell = tuple(Tell(contact=one, why="unanswered") for one in call_out.told)
        return Step(call_out=over, tell=tell, due=due(over, contacts, table))
    moved = replace(call_out, state=next_state("open", "turn-passes"), turn=later[0], turn_at=now, reminded_at=now)
    new = [one for one in _of_turn(contacts, table, later[0]) if one not in call_out.told]
    moved = replace(moved, told={**call_out.told, **{one: now for one in new}})
    return Step(
        call_out=moved,
        tell=tuple(Tell(contact=one, why="next-turn") for one in new),
        due=due(moved, contacts, table),
    )


def _turns(contacts: Sequence[Contact], table: CallOutTable) -> list[int]:
    return sorted({one.turn for one in contacts})


def _of_turn(contacts: Sequence[Contact], table: CallOutTable, turn: int) -> list[str]:
    if table.take_within <= AT_ONCE:
        return [one.id for one in contacts]
    return [one.id for one in contacts if one.turn == turn]
