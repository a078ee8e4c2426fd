"""The alarms that stand, who was told of each in its round and what became of that, and when each must be looked at again."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from gateway.alarms.matters import which_of_many
from gateway.alarms.next_step import ASKED_FIRST, AT_ONCE, ON_WATCH, steps, turn_length
from gateway.alarms.rounds import Delivery, advance, not_reached
from gateway.facts import Subject
from gateway.facts.alarms import Alarm, Telling, TellingWhy
from gateway.outbox import quiet_until
from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.site import Site
from gateway.status.snapshot import paused
from gateway.status.waiting import NIGHT
from gateway.status.watch import on_watch

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
ASKS: tuple[TellingWhy, ...] = (
    "first", "next-turn", "reminder", "came-back", "second-call", "worse", "sooner", "later", "changed"
)  # fmt: skip
"""By these somebody is told of an alarm, and may take it; the others tell who did, that nobody did, or that it is over."""

KNOWS: tuple[TellingWhy, ...] = (*ASKS, "warned")
"""By these somebody knows that it began."""

STAMP_RESOLUTION = timedelta(seconds=2)
"""Network stamps have whole seconds, and the message left in the second before its answer was written."""


def next_alarm_due(reader: Reader, site: Site, now: datetime, alarms: Iterable[Alarm]) -> datetime | None:
    """When one of these alarms must be looked at next; now, where a message's fate moves it on already."""
    return min((at for alarm in alarms for at in _dues(reader, site, alarm, now)), default=None)


def told_in_round(reader: Reader, alarm: Alarm) -> dict[str, Delivery]:
    """The best that became of any message of this round by which a contact was told, by contact."""
    best: dict[str, Delivery] = {}
    for telling in reader.tellings(alarm=alarm.number, since=alarm.round_at):
        if telling.why in ASKS:
            before = best.get(telling.contact, "failed")
            best[telling.contact] = max(before, delivery_of(telling), key=RANKS.index)
    return best


def told_of_it(reader: Reader, alarm: Alarm, *, whys: tuple[TellingWhy, ...] = KNOWS) -> dict[str, Telling]:
    """The first telling of everyone who was told that it began, by contact; with ASKS of everyone who was called."""
    told: dict[str, Telling] = {}
    for telling in reader.tellings(alarm=alarm.number):
        if telling.why in whys:
            told.setdefault(telling.contact, telling)
    return told


def told_by(reader: Reader, alarm: Alarm, contact: str, when: datetime) -> bool:
    """Whether that contact had been told of it by then: a message had left; what still waits to leave tells nobody."""
    return any(
        telling.contact == contact
        and telling.why in KNOWS
        and (
            telling.message is None or (telling.handed_at is not None and telling.handed_at <= when + STAMP_RESOLUTION)
        )
        for telling in reader.tellings(alarm=alarm.number)
    )


def taker_is_lost(reader: Reader, site: Site, alarm: Alarm, now: datetime) -> bool:
    """Whether a message about it to who has it did not arrive in time, or they are configured no more."""
    return alarm.taken_by not in site.contacts or any(
        not_reached(alarm, telling.at, delivery_of(telling), site.settings.call_out, now)
        for telling in _tellings_to_taker(reader, site, alarm)
    )


def delivery_of(telling: Telling) -> Delivery:
    """What became of its message; one that is not known any more has arrived, as far as anybody knows."""
    if telling.state is None:
        return "delivered"
    return "refused" if telling.state == "waiting" and telling.tries > 0 else DELIVERIES[telling.state]


def is_held(reader: Reader, alarm: Alarm, now: datetime) -> bool:
    """Whether somebody works on the tank that the alarm is about. Taps that run dry meanwhile are the house's: nobody may drink unwarned."""
    return (
        alarm.kind != "ran-dry"
        and alarm.subject == "tanks"
        and alarm.tank is not None
        and paused(reader, alarm.tank, now)
    )


def alarms_said(site: Site, alarms: Iterable[Alarm], line: Line) -> str:
    """`House tank LOW, Ridge controller SILENT.`"""
    return ", ".join(alarm_name(site, alarm, line) for alarm in alarms) + "."


def alarm_name(site: Site, alarm: Alarm, line: Line) -> str:
    """`House tank LOW`; of the house itself `Taps DRY`; with a question mark where it is over by reckoning alone."""
    asked = "?" if alarm.is_reckoned else ""
    if alarm.kind == "ran-dry":
        label = site.phrases.label(alarm.kind, line=line)
        return f"{label[:1].upper()}{label[1:]}{asked}"
    own = name_of_one(site, alarm)
    if own is not None and alarm.kind == "input-active":
        return own
    name = own or (site.tank_name(alarm.tank) if alarm.subject == "tanks" else site.controller_name(alarm.controller))
    said = site.phrases.matter(name, alarm.kind, line=line) if name else site.phrases.label(alarm.kind, line=line)
    return f"{said}{asked}"


def name_of_one(site: Site, alarm: Alarm) -> str | None:
    """`Lid is open`, or what a reading is called: of an alarm that one box may have several of; None for any other."""
    which = which_of_many(alarm)
    if which is None:
        return None
    own = (
        f"{own.name} {own.active_says}"
        for (controller, _), own in site.inputs.items()
        if controller == alarm.controller and own.name.casefold() == which
    )
    rules = (rule for box in site.settings.controllers if box.id == alarm.controller for rule in box.rules)
    named = (rule.name for rule in rules if rule.name.casefold() == which)
    return next(own if alarm.kind == "input-active" else named, which)


def contacts_about(site: Site, subject: Subject) -> tuple[Contact, ...]:
    """The contacts who hear of a subject."""
    return tuple(contact for contact in site.settings.contacts if subject in contact.about)


def contacts_called(reader: Reader, site: Site, subject: Subject, now: datetime) -> tuple[Contact, ...]:
    """Who hears of an alarm, each with their turn; whoever has the watch before all others, where they hear of such a thing.

    A household that is called all at once is so by day; at night whoever has the watch is called alone at first.
    """
    contacts = contacts_about(site, subject)
    watch = on_watch(reader, site, now)
    at_once_by_day = site.settings.call_out.take_within <= AT_ONCE and quiet_until(NIGHT, site.zone, now) is None
    if watch is None or at_once_by_day:
        return contacts
    return tuple(
        contact.model_copy(update={"turn": ON_WATCH}) if contact.id == watch.contact.id else contact
        for contact in contacts
    )


def _dues(reader: Reader, site: Site, alarm: Alarm, now: datetime) -> list[datetime]:
    table = site.settings.call_out
    if not alarm.stands_by_itself:
        return []
    times = [step.at for step in steps(alarm, table)]
    if alarm.state == "taken":
        if alarm.taken_by not in site.contacts:
            return [now]
        for telling in _tellings_to_taker(reader, site, alarm):
            if delivery_of(telling) != "delivered":
                times.append(max(telling.at, alarm.taken_at or now) + table.delivered_within)
        return times
    if alarm.state != "open" or (alarm.priority != "urgent" and alarm.turn > ASKED_FIRST):
        return times
    step = advance(alarm, told_in_round(reader, alarm), contacts_called(reader, site, alarm.subject, now), table, now)
    if step.notifications or step.alarm.state != alarm.state or step.alarm.turn_at != alarm.turn_at:
        return [now]
    if not alarm.judged and turn_length(alarm, table) is not None:
        times.append(alarm.turn_at + table.delivered_within)
    return times


def _tellings_to_taker(reader: Reader, site: Site, alarm: Alarm) -> list[Telling]:
    """Messages about it to who has it, since they have it; none where delivery is not reported, for then nothing follows from its lack."""
    if alarm.taken_by is None or alarm.taken_at is None or not site.settings.modem.delivery_reports:
        return []
    since = reader.tellings(alarm=alarm.number, since=alarm.taken_at)
    theirs = [telling for telling in since if telling.contact == alarm.taken_by]
    if reader.ever_reached(alarm.number, alarm.taken_by):
        return theirs
    return [telling for telling in theirs if telling.state == "failed"]
