"""A newer forecast → an alarm is told anew, its second call is put off or made; that it moved by a third is told, once, to those who were told.

What moves it: another tank's switch, somebody's word (whether water runs in, how many draw), time.
"""

from dataclasses import replace
from datetime import datetime

from gateway.alarms import rounds
from gateway.alarms.matters import is_graver, key_ended_by, key_opened_by
from gateway.alarms.rounds import Step
from gateway.facts import KINDS, Event
from gateway.facts.alarms import Alarm, TellingWhy
from gateway.handlers.fold_alarms import tell_or_fold
from gateway.handlers.tell_alarm import keep_and_tell, tell
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.alarm_priority import Urgency, later_edge, look_again_at, urgency_of, with_urgency
from gateway.status.alarm_rounds import contacts_called, told_of_it
from gateway.status.float_memory import is_of_further_float

MUCH = 2 / 3
"""Of the longer of two times so much, at the most, is left in the shorter when it is told that it moved: by a third. Of the early edge, or of
the likely time."""


def reconsider_forecasts(unit: UnitOfWork, switch: Event) -> None:
    """A tank's state changed: other low tanks may be dry sooner or later than it was told."""
    for alarm in _low_alarms(unit):
        if alarm.key not in (key_opened_by(switch), key_ended_by(switch)):
            upstream = unit.site.upstream.get(alarm.tank or "", ())
            _reconsider(unit, alarm, eased=KINDS[switch.kind].closes is not None and switch.tank in upstream)


def reconsider_by_word(unit: UnitOfWork, said: Event, *, told_already: str | None = None) -> None:
    """Somebody said what moves a forecast either way; who said it was answered with it (`told_already`)."""
    for alarm in _low_alarms(unit):
        _reconsider(unit, alarm, eased=True, told_already=told_already)


def _low_alarms(unit: UnitOfWork) -> list[Alarm]:
    return [alarm for alarm in unit.tx.alarms() if alarm.kind == "low" and alarm.stands_by_itself]


def renew(unit: UnitOfWork, alarm: Alarm, event: Event, urgency: Urgency) -> None:
    """The same matter again: told anew if it is graver or more urgent, or if it is no state that lasts."""
    before = unit.tx.event(alarm.event) if alarm.event is not None else None
    if before is not None and is_of_further_float(unit.site, before, than=event):
        return  # what was told weighs more
    worse = is_graver(event.kind, than=alarm.kind) or (urgency.priority == "urgent" and alarm.priority != "urgent")
    further = is_of_further_float(unit.site, event, than=before)
    renewed = with_urgency(unit.site, unit.now, replace(alarm, kind=event.kind, event=event.id), urgency)
    if not worse and not further:
        unit.tx.put_alarm(renewed)
    elif alarm.state == "folded":
        alone = rounds.unfold(renewed, unit.now)
        tell_or_fold(unit, unit.tx.put_alarm(alone))
    else:
        contacts, table = contacts_called(unit.tx, unit.site, alarm.subject, unit.now), unit.site.settings.call_out
        keep_and_tell(unit, rounds.worsen(renewed, contacts, table, unit.now, "worse" if worse else "first"))


def look_at_forecast(unit: UnitOfWork, alarm: Alarm) -> list[Event]:
    """The second call, if the house may still be dry so soon; of what was not urgent, whether it is so by now."""
    if alarm.priority != "urgent":
        # not looked at again where nothing can be said of it any more
        unit.tx.put_alarm(replace(alarm, warn_at=None))
        _reconsider(unit, replace(alarm, dry_early=None, dry_likely=None))
        return []
    newer, table = later_edge(unit.tx, unit.site, unit.now, alarm), unit.site.settings.call_out
    if newer is not None:
        unit.tx.put_alarm(replace(alarm, dry_early=newer, warn_at=newer - table.warn_before_dry))
        return []
    # by the edge as it was told: a forecast made now supposes that it is not dry yet, which nobody has looked at
    contacts, told = contacts_called(unit.tx, unit.site, alarm.subject, unit.now), told_of_it(unit.tx, alarm)
    step = rounds.call_again(alarm, told, contacts, table, unit.now)
    return keep_and_tell(unit, step, before=alarm)


def _reconsider(unit: UnitOfWork, alarm: Alarm, *, eased: bool = False, told_already: str | None = None) -> None:
    """`eased`: something that its water comes through is well again, or somebody said so; else a later edge only comes of the time that has
    passed, and the one that was told stays, though the likely time may be much sooner."""
    event = unit.tx.event(alarm.event) if alarm.event is not None else None
    if event is None:
        return
    urgency = urgency_of(unit.tx, unit.site, unit.now, event)
    if urgency.priority == "urgent" and alarm.priority != "urgent":
        renew(unit, alarm, event, urgency)
        return
    later = alarm.dry_early is not None and (urgency.dry_early is None or urgency.dry_early > alarm.dry_early)
    stays = later and not eased
    why = _moved(alarm, urgency, unit.now, eased=eased)
    if stays and why != "sooner":
        return
    kept = alarm
    if not stays:
        kept = replace(alarm, dry_early=urgency.dry_early, warn_at=_warn_at(unit, alarm, urgency))
    # else the one that was told stays: what moves a little at a time adds up
    if why is not None or alarm.dry_likely is None:
        kept = replace(kept, dry_likely=urgency.dry_likely)
    unit.tx.put_alarm(kept)
    told = {telling.why for telling in unit.tx.tellings(alarm=alarm.number)}
    # that there is more time is told once; that there is less also to who was told that there is more
    if why is None or alarm.priority != "urgent" or "sooner" in told or why in told:
        return
    hearers = [alarm.taken_by] if alarm.taken_by is not None else list(told_of_it(unit.tx, alarm))
    notifications = [rounds.Notification(contact=hearer, why=why) for hearer in hearers if hearer != told_already]
    tell(unit, Step(alarm=kept, notifications=tuple(notifications)))


def _warn_at(unit: UnitOfWork, alarm: Alarm, urgency: Urgency) -> datetime | None:
    """When the second call is due by the newer forecast; none where it was made already."""
    return None if alarm.warn_at is None else look_again_at(urgency, unit.site.settings.call_out, unit.now)


def _moved(alarm: Alarm, newer: Urgency, now: datetime, *, eased: bool) -> TellingWhy | None:
    """Whether the early edge or the likely time moved by a third, and which way. Sooner counts first; later only where something eased, and
    the early edge that was told lies ahead and is no sooner."""
    moved = ((alarm.dry_early, newer.dry_early), (alarm.dry_likely, newer.dry_likely))
    pairs = [(was, to) for was, to in moved if was is not None and to is not None and was > now]
    if any(to - now <= MUCH * (was - now) for was, to in pairs):
        return "sooner"
    if not eased or moved[0] not in pairs or pairs[0][1] < pairs[0][0]:
        return None
    return "later" if any(was - now <= MUCH * (to - now) for was, to in pairs) else None
