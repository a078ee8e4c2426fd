"""The open call-outs, what became of their messages, and when each must be looked at again."""

from collections.abc import Sequence
from datetime import datetime

from gateway.alarms import Alarm, CallOut, Delivery, advance, due_at
from gateway.facts import KINDS
from gateway.phrases.phrasebook import Line
from gateway.ports import CallOutRow, Reader
from gateway.settings.models import Contact
from gateway.site import Site
from gateway.status.snapshot import paused

RANKS: tuple[Delivery, ...] = ("failed", "refused", "waiting", "sent", "delivered")
DELIVERIES: dict[str, Delivery] = {
    "waiting": "waiting",
    "held": "waiting",
    "sending": "waiting",
    "unsure": "waiting",
    "sent": "sent",
    "delivered": "delivered",
    "failed": "failed",
    "joined": "waiting",
}


def next_call_out_due(reader: Reader, site: Site, now: datetime) -> datetime | None:
    """When a call-out must be looked at next; now, where a message's fate moves it on already."""
    times = []
    for row, call_out in open_call_outs(reader):
        if all_paused(reader, call_out, now):
            continue
        contacts = contacts_about(site, call_out.subject)
        times.append(due_at(call_out, site.settings.call_out))
        step = advance(call_out, deliveries(reader, row), contacts, site.settings.call_out, now)
        if step.call_out != call_out:
            times.append(now)
    return min((at for at in times if at is not None), default=None)


def open_call_outs(reader: Reader) -> tuple[tuple[CallOutRow, CallOut], ...]:
    """Every open call-out, with the row it is kept in."""
    return tuple((row, CallOut.from_json(row.data)) for row in reader.call_outs())


def deliveries(reader: Reader, row: CallOutRow) -> dict[str, Delivery]:
    """The best that became of any message of the call-out, by contact."""
    best: dict[str, Delivery] = {}
    for message in reader.messages_of(call_out=row.id):
        refused = message.state == "waiting" and message.tries > 0
        new: Delivery = "refused" if refused else DELIVERIES[message.state]
        if message.contact is not None:
            best[message.contact] = max(best.get(message.contact, "failed"), new, key=RANKS.index)
    return best


def all_paused(reader: Reader, call_out: CallOut, now: datetime) -> bool:
    """Whether somebody works on all that the call-out is about: its turns and reminders stand still meanwhile."""
    return all(alarm_paused(reader, alarm, now) for alarm in call_out.alarms)


def alarm_paused(reader: Reader, alarm: Alarm, now: datetime) -> bool:
    """Whether somebody works on the tank that the alarm is about."""
    return KINDS[alarm.kind].subject == "tanks" and paused(reader, alarm.about, now)


def alarms_said(site: Site, call_outs: Sequence[CallOut], line: Line) -> str:
    """`House tank low, Ridge controller silent.`"""
    names = []
    for alarm in (alarm for call_out in call_outs for alarm in call_out.alarms):
        name = site.tank_name(alarm.about) if alarm.about in site.tanks else site.controller_name(alarm.about)
        names.append(f"{name} {site.phrases.label(alarm.kind, line=line)}")
    return ", ".join(names) + "."


def contacts_about(site: Site, subject: str) -> tuple[Contact, ...]:
    """The contacts who hear of a subject."""
    return tuple(contact for contact in site.settings.contacts if subject in contact.about)
