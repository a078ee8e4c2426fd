"""Urgent alarms that nobody has → one reminder to each who was told, which names all that is open to them."""

from gateway.alarms.matters import most_urgent_first
from gateway.alarms.next_step import presses
from gateway.alarms.rounds import put_off, reminded, reminder_due
from gateway.facts.alarms import Alarm
from gateway.handlers.tell_alarm import remind, sleeps_until
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import ASKS, told_of_it


def send_reminders(unit: UnitOfWork) -> None:
    """Where one is due: all that is open is named, and waits anew."""
    table = unit.site.settings.call_out
    due = [alarm for alarm in unit.tx.alarms() if reminder_due(alarm, table, unit.now) and not _put_off(unit, alarm)]
    if not due:
        return
    hearers = {contact for alarm in due for contact in told_of_it(unit.tx, alarm, whys=ASKS)}
    named: dict[int, Alarm] = {alarm.number: alarm for alarm in due}
    for contact in unit.site.settings.contacts:
        if contact.id in hearers:
            alarms = _open_to(unit, contact)
            named |= {alarm.number: alarm for alarm in alarms}
            remind(unit, contact, alarms)
    for alarm in named.values():
        unit.tx.put_alarm(reminded(alarm, unit.now))


def _put_off(unit: UnitOfWork, alarm: Alarm) -> bool:
    """Whether it waits until the last of those who know of it is awake; what presses waits for nobody."""
    table = unit.site.settings.call_out
    asleep = sleeps_until(unit, told_of_it(unit.tx, alarm, whys=ASKS))
    if asleep is None or presses(alarm, table, unit.now):
        return False
    unit.tx.put_alarm(put_off(alarm, asleep, table))
    return True


def _open_to(unit: UnitOfWork, contact: Contact) -> list[Alarm]:
    """The urgent alarms that nobody has and that the contact was told of, the most urgent first."""
    nobodys = (alarm for alarm in unit.tx.alarms() if alarm.is_nobodys)
    theirs = (
        alarm for alarm in nobodys if alarm.priority == "urgent" and contact.id in told_of_it(unit.tx, alarm, whys=ASKS)
    )
    return sorted(theirs, key=most_urgent_first)
