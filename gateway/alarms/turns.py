"""A call-out, what happened, and now → the call-out after it, and which contacts are notified and why. Handlers write the messages.

With `take_within` of 0 everyone is told at once. Else turn by turn: the next turn is told when nobody took it in time, or at
once when no message of this turn reached anybody who can take it: each was refused, or not delivered within
`delivered_within`. A landline (or a contact who may not ask) is told but cannot take, so it holds no turn up; the last turn
has its whole time all the same, for somebody may still answer. A clock that was stepped back starts the waits anew.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.alarms.alarm import Alarm
from gateway.alarms.call_out import CallOut, next_state
from gateway.settings.models import CallOut as CallOutTable
from gateway.settings.models import Contact

Why = Literal["first", "next-turn", "reminder", "taken", "unanswered"]
Delivery = Literal["failed", "refused", "waiting", "sent", "delivered"]
"""What became of a contact's messages, worst first. `refused`: tried, refused, and waiting for its next try."""

AT_ONCE = timedelta(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Notification:
    """One contact hears of the call-out, and why now."""

    contact: str
    why: Why


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The call-out after what happened, and who hears of it."""

    call_out: CallOut
    notifications: tuple[Notification, ...] = ()


def raise_alarm(
    call_out: CallOut | None,
    alarm: Alarm,
    subject: str,
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """A new call-out for the alarm, or the alarm joins the open one; one that stands in it already gets its newest event."""
    if call_out is None or _waits_for_nothing(call_out):
        return _open(alarm, subject, contacts, table, now)
    others = tuple(other for other in call_out.alarms if other.key != alarm.key)
    joined = replace(call_out, state=next_state(call_out.state, "join"), alarms=(*others, alarm), reminded_at=now)
    if call_out.state == "unanswered":
        joined = replace(joined, turn_at=now, judged=False)
    return _step(joined, "first", joined.told)


def advance(
    call_out: CallOut,
    deliveries: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """Time passes, or what became of a message is known: a turn may be over, or a reminder due."""
    call_out = _not_ahead_of(call_out, now)
    if call_out.state == "open" and table.take_within <= AT_ONCE:
        untold = {contact.id: now for contact in contacts if contact.id not in call_out.told}
        if untold:
            return _step(replace(call_out, told={**call_out.told, **untold}), "next-turn", untold)
    if call_out.state == "open" and table.take_within > AT_ONCE:
        if _turn_is_over(call_out, deliveries, contacts, table, now):
            return _begin_next_turn(call_out, contacts, now)
        call_out = replace(call_out, judged=now >= call_out.turn_at + table.delivered_within)
    nobody_has_it = call_out.state in ("open", "unanswered")
    if nobody_has_it and table.remind_every > AT_ONCE and now >= call_out.reminded_at + table.remind_every:
        reminded = replace(call_out, state=next_state(call_out.state, "remind"), reminded_at=now)
        return _step(reminded, "reminder", reminded.told)
    return Step(call_out=call_out)


def take_call_out(call_out: CallOut, taker: str, now: datetime) -> Step:
    """A contact has it; everyone else who was told learns who. The taker hears of what joins it later, told before or not."""
    if call_out.state == "taken":
        return Step(call_out=call_out)
    told = {taker: now, **call_out.told}
    taken = replace(call_out, state=next_state(call_out.state, "take"), taken_by=taker, taken_at=now, told=told)
    return _step(taken, "taken", (contact for contact in told if contact != taker))


def close_alarm(call_out: CallOut, key: str) -> CallOut | None:
    """The call-out without that alarm; closed (it keeps its last alarm) when it was the last; None if it was not of it."""
    others = tuple(alarm for alarm in call_out.alarms if alarm.key != key)
    if len(others) == len(call_out.alarms):
        return None
    if others:
        return replace(call_out, alarms=others)
    return replace(call_out, state=next_state(call_out.state, "all-over"))


def due_at(call_out: CallOut, table: CallOutTable) -> datetime | None:
    """When `advance` will next change something by time alone."""
    times = []
    if call_out.state == "open" and table.take_within > AT_ONCE:
        times.append(call_out.turn_at + table.take_within)
        if not call_out.judged:
            times.append(call_out.turn_at + table.delivered_within)
    if call_out.state in ("open", "unanswered") and table.remind_every > AT_ONCE:
        times.append(call_out.reminded_at + table.remind_every)
    return min(times, default=None)


def _waits_for_nothing(call_out: CallOut) -> bool:
    """Somebody has it, or nobody ever took it, and no event will ever say that it is over: the next alarm starts anew."""
    settled = call_out.state in ("taken", "unanswered")
    return settled and not any(alarm.is_closed_by_an_event for alarm in call_out.alarms)


def _open(alarm: Alarm, subject: str, contacts: Sequence[Contact], table: CallOutTable, now: datetime) -> Step:
    first_turn = min((contact.turn for contact in contacts), default=1)
    everyone = table.take_within <= AT_ONCE
    told = {contact.id: now for contact in contacts if everyone or contact.turn == first_turn}
    opened = CallOut(
        state="open",
        alarms=(alarm,),
        subject=subject,
        opened_at=now,
        turn=first_turn,
        turn_at=now,
        told=told,
        reminded_at=now,
    )
    return _step(opened, "first", told)


def _not_ahead_of(call_out: CallOut, now: datetime) -> CallOut:
    """Waits that began later than now began under a clock that has been set back since."""
    return replace(call_out, turn_at=min(call_out.turn_at, now), reminded_at=min(call_out.reminded_at, now))


def _turn_is_over(
    call_out: CallOut,
    deliveries: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> bool:
    if now >= call_out.turn_at + table.take_within:
        return True
    if not any(contact.turn > call_out.turn for contact in contacts):
        return False
    missed: tuple[Delivery, ...] = ("failed", "refused")
    if now >= call_out.turn_at + table.delivered_within:
        missed = ("failed", "refused", "waiting", "sent")
    takers = [contact.id for contact in contacts if contact.turn == call_out.turn and _can_take(contact)]
    return all(deliveries.get(taker) in missed for taker in takers if taker in call_out.told)


def _can_take(contact: Contact) -> bool:
    return contact.line == "mobile" and contact.may_ask


def _begin_next_turn(call_out: CallOut, contacts: Sequence[Contact], now: datetime) -> Step:
    next_turn = min((contact.turn for contact in contacts if contact.turn > call_out.turn), default=None)
    if next_turn is None:
        over = replace(call_out, state=next_state(call_out.state, "last-turn-passes"), reminded_at=now)
        return _step(over, "unanswered", over.told)
    newly_told = {
        contact.id: now for contact in contacts if contact.turn == next_turn and contact.id not in call_out.told
    }
    begun = replace(
        call_out,
        state=next_state(call_out.state, "turn-passes"),
        turn=next_turn,
        turn_at=now,
        reminded_at=now,
        judged=False,
        told={**call_out.told, **newly_told},
    )
    return _step(begun, "next-turn", newly_told)


def _step(call_out: CallOut, why: Why, contacts: Iterable[str]) -> Step:
    return Step(call_out=call_out, notifications=tuple(Notification(contact=contact, why=why) for contact in contacts))
