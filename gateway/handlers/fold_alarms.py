"""Alarms of one matter → one tells of all: a new one is told or goes with another; what went with one that is over is told after all."""

from collections.abc import Sequence
from dataclasses import replace

from gateway.alarms import rounds
from gateway.alarms.matters import is_one_matter, most_urgent_first, speaks_for
from gateway.alarms.rounds import Step
from gateway.facts.alarms import Alarm
from gateway.handlers.tell_alarm import folded_in, keep_and_tell, tell
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.alarm_priority import urgency_of, with_urgency
from gateway.status.alarm_rounds import contacts_about, contacts_called, told_by


def tell_or_fold(unit: UnitOfWork, alarm: Alarm) -> None:
    """A new alarm has a round of its own, or goes with one of the same matter that speaks for both."""
    same_matter = [
        other
        for other in unit.tx.alarms()
        if other.id != alarm.id and other.stands_by_itself and is_one_matter(alarm, other, unit.site.upstream)
    ]
    speaker = next((other for other in same_matter if not speaks_for(alarm, other, unit.site.upstream)), None)
    if speaker is None:
        for other in same_matter:
            _fold(unit, other, alarm)
        _begin_round(unit, alarm)
        return
    if alarm.priority != "record":
        contacts = contacts_about(unit.site, alarm.subject)
        changed = tuple(rounds.Notification(contact=contact.id, why="changed") for contact in contacts)
        tell(unit, Step(alarm=replace(alarm, priority="soon"), notifications=changed))
    _fold(unit, alarm, speaker)


def unfold_alarms(unit: UnitOfWork, folded: Sequence[Alarm], cause: Alarm) -> None:
    """Each stands by itself, or goes with the weightiest of the rest; who took it with its cause has it still; what else is urgent is called
    out anew."""
    for alarm in sorted(folded, key=most_urgent_first):
        alone = unit.tx.put_alarm(_as_it_is_now(unit, rounds.unfold(alarm, unit.now)))
        others = [other for other in unit.tx.alarms() if other.id != alone.id and other.stands_by_itself]
        head = next((other for other in others if is_one_matter(alone, other, unit.site.upstream)), None)
        if head is not None:
            _fold(unit, alone, head)
        elif (taken := _taken_with(unit, alone, cause)) is not None:
            unit.tx.put_alarm(taken)
        elif alone.priority == "urgent":
            _begin_round(unit, alone)


def _taken_with(unit: UnitOfWork, alarm: Alarm, cause: Alarm) -> Alarm | None:
    """It, as who took its cause has it; None where it was not named in the answer to them, for they had not been told of it by then."""
    taker, at = cause.taken_by, cause.taken_at
    if taker is None or at is None or alarm.subject != "tanks" or not told_by(unit.tx, alarm, taker, at):
        return None
    return rounds.take(alarm, taker, (), unit.site.settings.call_out, at).alarm


def _as_it_is_now(unit: UnitOfWork, alarm: Alarm) -> Alarm:
    """While its cause told of it nobody looked at how urgent it is by itself, and when that must be looked at."""
    event = unit.tx.event(alarm.event) if alarm.event is not None else None
    if event is None:
        return alarm
    return with_urgency(unit.site, unit.now, alarm, urgency_of(unit.tx, unit.site, unit.now, event))


def _begin_round(unit: UnitOfWork, alarm: Alarm) -> None:
    contacts, table = contacts_called(unit.tx, unit.site, alarm.subject, unit.now), unit.site.settings.call_out
    keep_and_tell(unit, rounds.begin_round(alarm, contacts, table, unit.now))


def _fold(unit: UnitOfWork, alarm: Alarm, cause: Alarm) -> None:
    """The alarm and what was folded in it go with the cause."""
    for consequence in (alarm, *folded_in(unit, alarm)):
        unit.tx.put_alarm(rounds.fold(consequence, cause))
