"""Events, answers and time → alarms are raised, folded, taken, passed on, come back and end.

Who hears of that is in `tell_alarm`, which of them tells of others too in `fold_alarms`, what a newer forecast changes in `moved_forecasts`.
`gateway.alarms` decides where an alarm goes; here that is carried out.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from gateway.alarms import rounds
from gateway.alarms.matters import key_ended_by, key_opened_by, which_of_many
from gateway.alarms.next_step import presses
from gateway.facts import KINDS, NUMBER_FIELDS, Event, input_key
from gateway.facts.alarms import Alarm
from gateway.facts.states.controllers_and_tanks import FloatMemory, NamedReading
from gateway.handlers.fold_alarms import tell_or_fold, unfold_alarms
from gateway.handlers.moved_forecasts import look_at_forecast, renew
from gateway.handlers.tell_alarm import folded_in, keep_and_tell, mark_answered, sleeps_until
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.controller_tables import RuleTable
from gateway.status.alarm_priority import Urgency, look_again_at, urgency_of, with_urgency
from gateway.status.alarm_rounds import contacts_called, is_held, taker_is_lost, told_in_round, told_of_it
from gateway.status.float_memory import is_said_by_another
from gateway.status.watch import on_watch

READINGS = frozenset({"reading-low", "reading-high"})


def raise_alarm(unit: UnitOfWork, event: Event) -> None:
    """An event that opens an alarm: a new one, or something new of one that stands."""
    key = key_opened_by(event)
    if key is None:
        return
    urgency = urgency_of(unit.tx, unit.site, unit.now, event)
    same = next((alarm for alarm in unit.tx.alarms() if alarm.key == key), None)
    if same is None or same.is_reckoned or _is_again(unit, same, event):
        if same is not None:
            unit.tx.put_alarm(rounds.end(same, unit.now))
        _raise_new(unit, key, event, urgency)
    elif is_held(unit.tx, same, unit.now):
        unit.tx.put_alarm(replace(same, kind=event.kind, event=event.id))
    elif same.state == "held":
        _release(unit, with_urgency(unit.site, unit.now, replace(same, kind=event.kind, event=event.id), urgency))
    else:
        renew(unit, same, event, urgency)


def end_alarm(unit: UnitOfWork, event: Event) -> None:
    """An event that ends an alarm: what was folded in it stands by itself again, or goes with the weightiest of the rest."""
    key, reckoned = key_ended_by(event), KINDS[event.kind].reckoned
    if KINDS[event.kind].closes in ("low", "high") and is_said_by_another(unit.tx, unit.site, event):
        return
    for alarm in unit.tx.alarms():
        if alarm.key != key or (reckoned and alarm.is_reckoned):
            continue
        folded = folded_in(unit, alarm)
        unit.tx.put_alarm(rounds.reckon(alarm) if reckoned else rounds.end(alarm, unit.now))
        if folded:
            unfold_alarms(unit, folded, alarm)


def end_alarms_of_nothing(unit: UnitOfWork) -> list[str]:
    """Alarms of a tank, a box, an input or a limit that left the configuration: nobody can see to them, and no text ever ends them. Their
    keys."""
    ended = []
    for alarm in unit.tx.alarms():
        if _is_of_nothing(unit, alarm):
            folded = folded_in(unit, alarm)
            unit.tx.put_alarm(rounds.end(alarm, unit.now))
            unfold_alarms(unit, folded, alarm)
            _forget_one_of_many(unit, alarm)
            ended.append(alarm.key)
    return ended


def _forget_one_of_many(unit: UnitOfWork, alarm: Alarm) -> None:
    """If the input or the limit comes back to the file, what it says is news."""
    if alarm.kind in READINGS:
        unit.tx.clear_state(NamedReading, f"{alarm.controller}:{which_of_many(alarm)}")
    event = unit.tx.event(alarm.event) if alarm.kind == "input-active" and alarm.event is not None else None
    if event is not None and event.input is not None:
        unit.tx.clear_state(FloatMemory, f"{event.controller}:{input_key(event.input)}")


def _is_of_nothing(unit: UnitOfWork, alarm: Alarm) -> bool:
    """Not of a tank that another float or a gauge watches still: that tells when it is over."""
    site = unit.site
    if alarm.kind == "input-active":
        return alarm.key not in {f"input:{own.controller}:{own.name}".casefold() for own in site.inputs.values()}
    controller = site.controllers.get(alarm.controller or "")
    if alarm.kind in READINGS and controller is not None:
        return which_of_many(alarm) not in _limited(controller.rules)
    if alarm.tank not in (None, *site.tanks):
        return True
    watching = alarm.tank is not None and (
        any(placed.float.means == alarm.kind for placed in site.floats_of(alarm.tank))
        or (alarm.kind in ("low", "high") and bool(site.gauges_of(alarm.tank)))
    )
    return alarm.controller not in (None, *site.controllers) and not watching


def _limited(rules: Iterable[RuleTable]) -> set[str]:
    """What has a limit by these rules; of a rule that gives no name anything that a number may be called."""
    limited = [rule for rule in rules if rule.low is not None or rule.high is not None]
    nameless = (
        {field.label.casefold() for field in NUMBER_FIELDS.values()}
        if not all(rule.name for rule in limited)
        else set()
    )
    return nameless | {rule.name.casefold() for rule in limited}


def take_alarms(unit: UnitOfWork, taken: Event) -> None:
    """Somebody answered OK: has these alarms, and the others who were told learn who."""
    contact, ids = taken.detail["contact"], taken.detail["alarms"]
    for alarm in unit.tx.alarms():
        if alarm.id not in ids:
            continue
        mark_answered(unit, alarm, contact)
        came_back = sum(telling.why == "came-back" for telling in unit.tx.tellings(alarm=alarm.number))
        table = unit.site.settings.call_out
        keep_and_tell(
            unit, rounds.take(alarm, contact, _hearers(unit, alarm, contact), table, unit.now, came_back=came_back)
        )


def _hearers(unit: UnitOfWork, alarm: Alarm, taker: str) -> Iterable[str]:
    """Who learns that they have it: everyone who was told of it. Who takes again what came back to them is who the others think has it: of
    them only those learn it who were called since."""
    if alarm.asked_first == taker:
        return told_in_round(unit.tx, alarm)
    return {**told_of_it(unit.tx, alarm), **dict.fromkeys(_spared(unit, alarm))}


def call_the_watch(unit: UnitOfWork, begun: Event) -> list[Event]:
    """Somebody has the watch from now on: is told what is open, and nobody's. Returns an `unanswered` for each that nobody is left for."""
    unanswered = []
    watch = begun.detail["contact"]
    for alarm in unit.tx.alarms():
        told = told_in_round(unit.tx, alarm)
        contacts = contacts_called(unit.tx, unit.site, alarm.subject, unit.now)
        if alarm.is_nobodys and alarm.priority == "urgent" and watch not in told:
            step = rounds.next_turn(alarm, told, contacts, unit.site.settings.call_out, unit.now)
            unanswered += keep_and_tell(unit, step, before=alarm)
    return unanswered


def decline_alarms(unit: UnitOfWork, contact: str, alarms: Sequence[Alarm]) -> list[Event]:
    """NO: passed on at once, unless others of this turn may still answer. Returns an `unanswered` for each that nobody is left for."""
    passed = []
    for alarm in alarms:
        mark_answered(unit, alarm, contact)
        if alarm.state == "taken" or not _others_may_answer(unit, alarm, contact):
            told, contacts = told_in_round(unit.tx, alarm), contacts_called(unit.tx, unit.site, alarm.subject, unit.now)
            step = rounds.decline(alarm, contact, told, contacts, unit.site.settings.call_out, unit.now)
            passed += keep_and_tell(unit, step, before=alarm)
    return passed


def hold_alarms(unit: UnitOfWork, paused: Event) -> None:
    """Work on a tank begins: its alarms are held until it is over."""
    for alarm in unit.tx.alarms():
        if (
            alarm.tank == paused.tank
            and alarm.subject == "tanks"
            and (alarm.stands_by_itself or alarm.state == "folded")
        ):
            folded = folded_in(unit, alarm)
            unit.tx.put_alarm(rounds.hold(alarm))
            unfold_alarms(unit, folded, alarm)


def release_alarms(unit: UnitOfWork, over: Event) -> None:
    """Work on a tank is over: what stands is told anew."""
    for alarm in unit.tx.alarms():
        if alarm.tank == over.tank and alarm.state == "held":
            _release(unit, alarm)


def advance_after_giving_up(unit: UnitOfWork, given_up: Event) -> list[Event]:
    """A message was given up: where nobody of the turn was reached, the next turn's is now. Not for what tells of the gateway."""
    message = unit.tx.message(given_up.detail["message"])
    if message is None or message.contact is None or message.subject == "gateway":
        return []
    return advance_alarms(unit)


def advance_alarms(unit: UnitOfWork) -> list[Event]:
    """Turns, second calls, what comes back. Returns an `unanswered` for each that nobody took, to be recorded."""
    unanswered: list[Event] = []
    for alarm in unit.tx.alarms():
        if alarm.stands_by_itself:
            unanswered += _advance(unit, alarm)
    return unanswered


def _spared(unit: UnitOfWork, alarm: Alarm) -> list[str]:
    """Who was not called since somebody has the watch, and learns by day who sees to it."""
    if alarm.priority != "urgent" or on_watch(unit.tx, unit.site, unit.now) is None:
        return []
    return [contact.id for contact in contacts_called(unit.tx, unit.site, alarm.subject, unit.now)]


def _is_again(unit: UnitOfWork, alarm: Alarm, event: Event) -> bool:
    """Whether a float, or somebody at a dry tap, says again what was said so long before that it is a new matter, as far as anybody knows."""
    long_after = event.at - alarm.since >= unit.site.settings.call_out.again_after
    says_again = KINDS[event.kind].switch or event.kind == "ran-dry"
    return says_again and event.kind == alarm.kind and event.id != alarm.event and long_after


def _advance(unit: UnitOfWork, alarm: Alarm) -> list[Event]:
    contacts, table = contacts_called(unit.tx, unit.site, alarm.subject, unit.now), unit.site.settings.call_out
    if alarm.warn_at is not None and alarm.warn_at <= unit.now:
        return look_at_forecast(unit, alarm)
    if alarm.state == "taken":
        lost = taker_is_lost(unit.tx, unit.site, alarm, unit.now)
        if not lost and (alarm.back_at is None or alarm.back_at > unit.now):
            return []
        asleep = sleeps_until(unit, [alarm.taken_by or ""])
        if not lost and asleep is not None and not presses(alarm, table, unit.now):
            unit.tx.put_alarm(rounds.put_off(alarm, asleep, table))
            return []
        return keep_and_tell(unit, rounds.come_back(alarm, contacts, table, unit.now, reached=not lost), before=alarm)
    step = _to_all_who_know(unit, rounds.advance(alarm, told_in_round(unit.tx, alarm), contacts, table, unit.now))
    return keep_and_tell(unit, step, before=alarm) if step.alarm != alarm or step.notifications else []


def _to_all_who_know(unit: UnitOfWork, step: rounds.Step) -> rounds.Step:
    """That nobody took it is told also to who had it before this round, and passed it on."""
    if not any(notification.why == "unanswered" for notification in step.notifications):
        return step
    hearers = told_of_it(unit.tx, step.alarm)
    return replace(
        step, notifications=tuple(rounds.Notification(contact=hearer, why="unanswered") for hearer in hearers)
    )


def _raise_new(unit: UnitOfWork, key: str, event: Event, urgency: Urgency) -> None:
    alarm = unit.tx.put_alarm(
        Alarm(
            key=key,
            kind=event.kind,
            tank=event.tank,
            controller=event.controller,
            priority=urgency.priority,
            at_stake=urgency.at_stake,
            state="open",
            since=_began(event),
            raised_at=unit.now,
            event=event.id,
            round_at=unit.now,
            turn_at=unit.now,
            reminded_at=unit.now,
            dry_early=urgency.dry_early,
            dry_likely=urgency.dry_likely,
            warn_at=look_again_at(urgency, unit.site.settings.call_out, unit.now),
        )
    )
    if is_held(unit.tx, alarm, unit.now):
        unit.tx.put_alarm(rounds.hold(alarm))
    elif KINDS[event.kind].bars_messages:
        return  # no message can leave meanwhile: its end is told
    else:
        tell_or_fold(unit, alarm)


def _began(event: Event) -> datetime:
    """When it began; a box is silent since its last word, as every message of it says, and not since that was noticed."""
    since = event.detail.get("since") if event.kind == "silent" else None
    return datetime.fromisoformat(since) if since is not None else event.at


def _release(unit: UnitOfWork, alarm: Alarm) -> None:
    tell_or_fold(unit, unit.tx.put_alarm(rounds.release(alarm)))


def _others_may_answer(unit: UnitOfWork, alarm: Alarm, contact: str) -> bool:
    """Whether somebody else of this turn was told, can answer, and has not yet."""
    answered = {telling.contact for telling in unit.tx.tellings(alarm=alarm.number) if telling.answered_at is not None}
    told = told_in_round(unit.tx, alarm)
    at_once = unit.site.settings.call_out.take_within <= timedelta(0)
    return any(
        other.id in told
        and other.id not in answered
        and rounds.can_take(other)
        and (at_once or other.turn == alarm.turn)
        for other in contacts_called(unit.tx, unit.site, alarm.subject, unit.now)
        if other.id != contact
    )
