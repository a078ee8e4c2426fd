"""An alarm, what happened, and now → the alarm after it, and which contacts are told and why. Handlers write the messages.

Each alarm has its own round. With `take_within` of 0 everyone is told at once; else turn by turn: the next turn is told when
nobody took it in time, or at once when no message of this turn reached anybody who can take it: each was refused, or not delivered
within `delivered_within`. A landline (or a contact who may not ask) is told but cannot take, so it holds no turn up; the last
turn has its whole time all the same, for somebody may still answer. Who has the watch (`ON_WATCH`) is called alone, before all turns.
An alarm that comes back is asked of who had it, for a turn of their own, then of the others. A clock that was stepped back starts the
waits anew.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.alarms.alarm_states import next_state
from gateway.alarms.next_step import ASKED_FIRST, AT_ONCE, DAY, ON_WATCH, reminder_wait, turn_length
from gateway.facts.alarms import Alarm, TellingWhy
from gateway.settings.people_tables import CallOut as CallOutTable
from gateway.settings.people_tables import Contact

Delivery = Literal["failed", "refused", "waiting", "sent", "delivered"]
"""What became of a contact's messages, worst first. `refused`: tried, refused, and waiting for its next try."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notification:
    """One contact hears of the alarm, and why now."""

    contact: str
    why: TellingWhy


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The alarm after what happened, and who hears of it."""

    alarm: Alarm
    notifications: tuple[Notification, ...] = ()


def begin_round(
    alarm: Alarm, contacts: Sequence[Contact], table: CallOutTable, now: datetime, why: TellingWhy = "first"
) -> Step:
    """A round of an open alarm begins: by turns if it is urgent, to everyone once if it is `soon`, to nobody if it is only on record.

    Where the taps are dry, those of later turns are warned at once: whoever sees to it, they may drink of them.
    """
    first_turn = min((contact.turn for contact in contacts), default=1)
    by_turns = alarm.priority == "urgent" and (table.take_within > AT_ONCE or first_turn == ON_WATCH)
    told = [contact.id for contact in contacts if not by_turns or contact.turn == first_turn]
    begun = _round_of_nobody(alarm, first_turn if by_turns else max(first_turn, 1), now)
    step = _step(begun, why, told if alarm.priority != "record" else ())
    if alarm.kind != "ran-dry" or not by_turns:
        return step
    warned = (Notification(contact=contact.id, why="warned") for contact in contacts if contact.id not in told)
    return replace(step, notifications=(*step.notifications, *warned))


def worsen(
    alarm: Alarm, contacts: Sequence[Contact], table: CallOutTable, now: datetime, why: TellingWhy = "worse"
) -> Step:
    """It is more urgent than it was, or another kind of it came: told anew, whoever has it."""
    state = next_state(alarm.state, "worsen")
    if state != "open":
        return Step(alarm=replace(alarm, state=state))
    return begin_round(replace(alarm, state=state), contacts, table, now, why)


def advance(
    alarm: Alarm,
    told: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    now: datetime,
) -> Step:
    """Time passes, or what became of a message is known: a turn may be over. `told`: who was told in this round.

    Reminders and what comes back are told for several alarms at once (`reminder_due`, `come_back`).
    """
    alarm = _not_ahead_of(alarm, now)
    if alarm.state != "open" or (alarm.priority != "urgent" and alarm.turn > ASKED_FIRST):
        return Step(alarm=alarm)
    length = turn_length(alarm, table)
    if length is None:
        return _step(alarm, "next-turn", [contact.id for contact in contacts if contact.id not in told])
    if _turn_is_over(alarm, told, contacts, table, length, now):
        return next_turn(alarm, told, contacts, table, now)
    return Step(alarm=replace(alarm, judged=now >= alarm.turn_at + table.delivered_within))


def next_turn(
    alarm: Alarm, told: Collection[str], contacts: Sequence[Contact], table: CallOutTable, now: datetime
) -> Step:
    """The next turn that has somebody who does not know yet, first of all the watch's; after the last it is unanswered, and all hear that."""
    later = [
        contact
        for contact in contacts
        if contact.id not in told and (contact.turn > alarm.turn or contact.turn == ON_WATCH)
    ]
    if not later:
        if alarm.state == "unanswered" or alarm.priority != "urgent":
            return Step(alarm=replace(alarm, turn=max(alarm.turn, 1)))
        unanswered = replace(alarm, state=next_state(alarm.state, "last-turn-passes"), reminded_at=now)
        # who was asked again as the only one there is was told so a moment ago
        alone = alarm.asked_first is not None and set(told) <= {alarm.asked_first}
        return _step(unanswered, "unanswered", () if alone else told)
    turn = min(contact.turn for contact in later)
    by_turns = alarm.priority == "urgent" and table.take_within > AT_ONCE
    newly_told = [contact.id for contact in later if contact.turn == turn or not (by_turns or turn == ON_WATCH)]
    state = next_state(alarm.state, "turn-passes") if alarm.state == "open" else alarm.state
    begun = replace(alarm, state=state, turn=turn, turn_at=now, reminded_at=now, judged=False)
    return _step(begun, "next-turn", newly_told)


def take(
    alarm: Alarm, taker: str, told: Iterable[str], table: CallOutTable, now: datetime, *, came_back: int = 0
) -> Step:
    """A contact has it, for `taken_for` or until the second call; everyone else who was told learns who.

    What no water hangs on is asked again more seldom each time that it came back, at last once a day.
    """
    held_for = table.taken_for
    if not alarm.at_stake:
        held_for = min(held_for * 2 ** min(came_back, 10), max(held_for, DAY))
    back_at = now + held_for
    taken = replace(
        alarm,
        state=next_state(alarm.state, "take"),
        taken_by=taker,
        taken_at=now,
        back_at=back_at,
        asked_first=None,
        judged=False,
    )
    return _step(taken, "taken", (contact for contact in told if contact != taker))


def decline(
    alarm: Alarm, contact: str, told: Collection[str], contacts: Sequence[Contact], table: CallOutTable, now: datetime
) -> Step:
    """NO: who has it, or whose turn it is, cannot; the next turn is told at once."""
    state = next_state(alarm.state, "decline")
    if alarm.state == "taken":
        # who took it may be of a later turn than the one that was reached: the others are asked from the first turn on
        anew = replace(_round_of_nobody(alarm, ASKED_FIRST, now), state=state)
        return next_turn(anew, {contact}, contacts, table, now)
    return next_turn(replace(alarm, state=state), {contact, *told}, contacts, table, now)


def come_back(alarm: Alarm, contacts: Sequence[Contact], table: CallOutTable, now: datetime, *, reached: bool) -> Step:
    """It is not over in time: who had it is asked again, then the others. Not `reached`: the others at once."""
    taker = alarm.taken_by
    state = next_state(alarm.state, "come-back")
    back = replace(_round_of_nobody(alarm, ASKED_FIRST, now), state=state, asked_first=taker)
    if not reached or taker is None or taker not in {contact.id for contact in contacts}:
        return next_turn(back, {taker} if taker is not None else set(), contacts, table, now)
    return _step(back, "came-back", (taker,))


def call_again(
    alarm: Alarm, told: Collection[str], contacts: Sequence[Contact], table: CallOutTable, now: datetime
) -> Step:
    """The second call before it is dry: who has it (else everyone told so far) and the next turn, whoever took it."""
    known = [contact for contact in contacts if contact.id == alarm.taken_by] if alarm.taken_by else []
    known = known or [contact for contact in contacts if contact.id in told]
    reached = max((contact.turn for contact in known), default=ASKED_FIRST)
    others = [contact for contact in contacts if contact not in known]
    after = [contact for contact in others if contact.turn > reached] or others
    turn = min((contact.turn for contact in after), default=reached)
    of_turn = (turn, ON_WATCH)
    called = [*known, *(contact for contact in others if contact.turn in of_turn or table.take_within <= AT_ONCE)]
    again = replace(_round_of_nobody(alarm, turn, now), state=next_state(alarm.state, "come-back"), warn_at=None)
    return _step(again, "second-call", [contact.id for contact in called])


def reminder_due(alarm: Alarm, table: CallOutTable, now: datetime) -> bool:
    """Whether it has been quiet about an urgent alarm that nobody has for as long as it may be."""
    waits = alarm.is_nobodys and alarm.priority == "urgent" and table.remind_every > AT_ONCE
    return waits and now >= alarm.reminded_at + reminder_wait(alarm, table)


def put_off(alarm: Alarm, until: datetime, table: CallOutTable) -> Alarm:
    """Its reminder, or its coming back, waits until then, since somebody sleeps."""
    if alarm.state == "taken":
        return replace(alarm, back_at=until)
    return replace(alarm, reminded_at=until - reminder_wait(alarm, table))


def reminded(alarm: Alarm, now: datetime) -> Alarm:
    """It was named in a reminder."""
    return replace(alarm, reminders=alarm.reminders + 1, reminded_at=now)


def end(alarm: Alarm, now: datetime) -> Alarm:
    """It is over."""
    return replace(alarm, state=next_state(alarm.state, "end"), over_at=now, folded_in=None, warn_at=None, back_at=None)


def reckon(alarm: Alarm) -> Alarm:
    """It should be over by now, and nobody has said so."""
    return replace(alarm, state=next_state(alarm.state, "reckon"), folded_in=None, warn_at=None, back_at=None)


def hold(alarm: Alarm) -> Alarm:
    """Somebody works on the tank: it is told when that is over."""
    return replace(
        alarm, state=next_state(alarm.state, "hold"), folded_in=None, taken_by=None, taken_at=None, back_at=None
    )


def release(alarm: Alarm) -> Alarm:
    """The work is over."""
    return replace(alarm, state=next_state(alarm.state, "release"))


def fold(alarm: Alarm, cause: Alarm) -> Alarm:
    """Its cause tells of it too."""
    state = alarm.state if alarm.state == "folded" else next_state(alarm.state, "fold")
    return replace(alarm, state=state, folded_in=cause.id, warn_at=None, back_at=None)


def unfold(alarm: Alarm, now: datetime) -> Alarm:
    """Its cause is over, and it stands by itself."""
    alone = replace(alarm, state=next_state(alarm.state, "unfold"), folded_in=None, taken_by=None, taken_at=None)
    return _round_at(alone, now)


def not_reached(alarm: Alarm, sent_at: datetime, delivery: Delivery, table: CallOutTable, now: datetime) -> bool:
    """Whether a message to who has the alarm counts as not told by now."""
    if delivery == "failed":
        return True
    return delivery != "delivered" and now >= max(sent_at, alarm.taken_at or sent_at) + table.delivered_within


def _round_of_nobody(alarm: Alarm, turn: int, now: datetime) -> Alarm:
    """Its messages begin anew with that turn; whoever had it, or was asked first, counts like anybody."""
    return replace(_round_at(alarm, now), turn=turn, asked_first=None, taken_by=None, taken_at=None, back_at=None)


def _round_at(alarm: Alarm, now: datetime) -> Alarm:
    return replace(alarm, round_at=now, turn_at=now, reminded_at=now, reminders=0, judged=False)


def _not_ahead_of(alarm: Alarm, now: datetime) -> Alarm:
    """Waits that began later than now began under a clock that has been set back since."""
    return replace(alarm, turn_at=min(alarm.turn_at, now), reminded_at=min(alarm.reminded_at, now))


def _turn_is_over(
    alarm: Alarm,
    told: Mapping[str, Delivery],
    contacts: Sequence[Contact],
    table: CallOutTable,
    length: timedelta,
    now: datetime,
) -> bool:
    if now >= alarm.turn_at + length:
        return True
    if not any(contact.turn > alarm.turn for contact in contacts):
        return False
    missed: tuple[Delivery, ...] = ("failed", "refused")
    if now >= alarm.turn_at + table.delivered_within:
        missed = ("failed", "refused", "waiting", "sent")
    takers = [contact.id for contact in contacts if _is_of_turn(contact, alarm) and can_take(contact)]
    return all(told.get(taker) in missed for taker in takers if taker in told)


def _is_of_turn(contact: Contact, alarm: Alarm) -> bool:
    return contact.id == alarm.asked_first if alarm.turn == ASKED_FIRST else contact.turn == alarm.turn


def can_take(contact: Contact) -> bool:
    return contact.line == "mobile" and contact.may_ask


def _step(alarm: Alarm, why: TellingWhy, contacts: Iterable[str]) -> Step:
    return Step(alarm=alarm, notifications=tuple(Notification(contact=contact, why=why) for contact in contacts))
