"""A call-out, what happened, and now → the next state and who is told what. Pure; the flow writes the messages.

With `take_within` of 0 everyone is told at once. Else turn by turn: the next turn is told when nobody took it in time, or at
once when no message of this turn reached anybody who can take it: each was refused, or not delivered within
`delivered_within`. A landline (or a contact who may not ask) is told but cannot take, so it holds no turn up; the last turn
has its whole time all the same, for somebody may still answer. A clock that was stepped back starts the waits anew.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.alarms.kinds import Alarm
from gateway.alarms.state import CallOut, next_state
from gateway.settings.models import CallOut as CallOutTable
from gateway.settings.models import Contact

Why = Literal["first", "next-turn", "reminder", "taken", "unanswered"]
Delivery = Literal["failed", "refused", "waiting", "sent", "delivered"]
"""What became of a contact's messages, worst first. `refused`: tried, refused, and waiting for its next try."""

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
    alarm: Alarm,
    subject: str,
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """An urgent alarm: a new call-out, or one more alarm of an open one."""
    if call_out is None or _settled(call_out):
        return _open(alarm, subject, contacts, table, now)
    known = tuple(one for one in call_out.alarms if one.key != alarm.key)
    joined = replace(call_out, state=next_state(call_out.state, "join"), alarms=(*known, alarm), reminded_at=now)
    if call_out.state == "unanswered":
        joined = replace(joined, turn_at=now, judged=False)
    return _step(joined, "first", joined.told, contacts, table)


def tick(
    call_out: CallOut,
    delivery: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """Time passes, or a message's fate became known."""
    call_out = _not_ahead_of(call_out, now)
    if call_out.state == "open" and table.take_within <= AT_ONCE:
        untold = {one.id: now for one in contacts if one.id not in call_out.told}
        if untold:
            everyone = replace(call_out, told={**call_out.told, **untold})
            return _step(everyone, "next-turn", untold, contacts, table)
    if call_out.state == "open" and table.take_within > AT_ONCE:
        if _turn_passed(call_out, delivery, contacts, table, now):
            return _next_turn(call_out, contacts, table, now)
        call_out = replace(call_out, judged=now >= call_out.turn_at + table.delivered_within)
    waits = call_out.state in ("open", "unanswered")
    if waits and table.remind_every > AT_ONCE and now >= call_out.reminded_at + table.remind_every:
        reminded = replace(call_out, state=next_state(call_out.state, "remind"), reminded_at=now)
        return _step(reminded, "reminder", reminded.told, contacts, table)
    return _step(call_out, "reminder", (), contacts, table)


def take(call_out: CallOut, contact: str, now: datetime) -> Step:
    """Somebody has it; everyone else who was told learns who. Whoever takes it hears of what joins it later."""
    if call_out.state == "taken":
        return Step(call_out=call_out)
    told = {contact: now, **call_out.told}
    taken = replace(call_out, state=next_state(call_out.state, "take"), taken_by=contact, taken_at=now, told=told)
    return Step(call_out=taken, tell=tuple(Tell(contact=one, why="taken") for one in told if one != contact))


def alarm_over(call_out: CallOut, key: str) -> CallOut | None:
    """The call-out without that alarm; closed (it keeps its last alarm) when it was the last; None if not of it."""
    left = tuple(one for one in call_out.alarms if one.key != key)
    if len(left) == len(call_out.alarms):
        return None
    if left:
        return replace(call_out, alarms=left)
    return replace(call_out, state=next_state(call_out.state, "all-over"))


def due(call_out: CallOut, contacts: Sequence[Contact], table: CallOutTable) -> datetime | None:
    """When the call-out must be looked at next; `tick` at that time moves it on."""
    times = []
    if call_out.state == "open" and table.take_within > AT_ONCE:
        times.append(call_out.turn_at + table.take_within)
        if not call_out.judged:
            times.append(call_out.turn_at + table.delivered_within)
    if call_out.state in ("open", "unanswered") and table.remind_every > AT_ONCE:
        times.append(call_out.reminded_at + table.remind_every)
    return min(times, default=None)


def _open(alarm: Alarm, subject: str, contacts: Sequence[Contact], table: CallOutTable, now: datetime) -> Step:
    turns = sorted({one.turn for one in contacts})
    first = turns[0] if turns else 1
    told = {one.id: now for one in contacts if table.take_within <= AT_ONCE or one.turn == first}
    new = CallOut(
        state="open",
        alarms=(alarm,),
        subject=subject,
        opened_at=now,
        turn=first,
        turn_at=now,
        told=told,
        reminded_at=now,
    )
    return _step(new, "first", told, contacts, table)


def _settled(call_out: CallOut) -> bool:
    """Somebody has it, or nobody ever took it, and nothing will ever say that it is over: the next alarm starts anew."""
    return call_out.state in ("taken", "unanswered") and not any(one.ends_by_itself for one in call_out.alarms)


def _not_ahead_of(call_out: CallOut, now: datetime) -> CallOut:
    """Waits that began later than now began under a clock that has been set back since."""
    return replace(call_out, turn_at=min(call_out.turn_at, now), reminded_at=min(call_out.reminded_at, now))


def _turn_passed(
    call_out: CallOut,
    delivery: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> bool:
    if now >= call_out.turn_at + table.take_within:
        return True
    missed: tuple[Delivery, ...] = ("failed", "refused")
    if now >= call_out.turn_at + table.delivered_within:
        missed = ("failed", "refused", "waiting", "sent")
    can_take = [one.id for one in contacts if one.turn == call_out.turn and one.id in call_out.told and _can_take(one)]
    later = any(one.turn > call_out.turn for one in contacts)
    return later and all(delivery.get(one) in missed for one in can_take)


def _can_take(contact: Contact) -> bool:
    return contact.line == "mobile" and contact.may_ask


def _next_turn(call_out: CallOut, contacts: Sequence[Contact], table: CallOutTable, now: datetime) -> Step:
    later = sorted({one.turn for one in contacts if one.turn > call_out.turn})
    if not later:
        over = replace(call_out, state=next_state(call_out.state, "last-turn-passes"), reminded_at=now)
        return _step(over, "unanswered", over.told, contacts, table)
    new = {one.id: now for one in contacts if one.turn == later[0] and one.id not in call_out.told}
    moved = replace(
        call_out,
        state=next_state(call_out.state, "turn-passes"),
        turn=later[0],
        turn_at=now,
        reminded_at=now,
        judged=False,
        told={**call_out.told, **new},
    )
    return _step(moved, "next-turn", new, contacts, table)


def _step(
    call_out: CallOut,
    why: Why,
    told: Mapping[str, datetime] | Sequence[str],
    contacts: Sequence[Contact],
    table: CallOutTable,
) -> Step:
    tell = tuple(Tell(contact=one, why=why) for one in told)
    return Step(call_out=call_out, tell=tell, due=due(call_out, contacts, table))
