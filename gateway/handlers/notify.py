"""What follows an event in words: messages in the outbox for the contacts who should hear of it.

What opens an alarm is told as `alarms.py` decides, and its end to those who were told of it; the rest goes to every contact whose
`about` has the subject. Work on a tank (a pause) holds its messages. Nothing here records an event: see the table in `event_followers.py`.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime

from gateway.alarms.matters import key_ended_by, which_of_many
from gateway.facts import KINDS, Event, Subject, Text
from gateway.facts.alarms import Alarm
from gateway.facts.harmless import harmless
from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.handlers.alarms import raise_alarm
from gateway.handlers.enqueue import enqueue, in_pieces
from gateway.handlers.tell_alarm import tie
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import Label, When
from gateway.settings.people_tables import Contact
from gateway.status.alarm_priority import chosen_priority
from gateway.status.alarm_rounds import contacts_about, told_of_it
from gateway.status.event_wording import Told, text_for, told_of
from gateway.status.float_memory import active_event, float_memory
from gateway.status.snapshot import float_after, last_switch, paused


def notify(unit: UnitOfWork, event: Event) -> list[Event]:
    """The event is told to whoever should hear of it. Returns what is to be recorded of that."""
    site, kind = unit.site, KINDS[event.kind]
    if kind.opens is not None:
        raise_alarm(unit, event)
    elif kind.closes is not None and kind.subject != "gateway":
        return _notify_of_end(unit, event)
    elif kind.word_for_word:
        _pass_on_event(unit, event)
    elif event.tank is None or not paused(unit.tx, event.tank, unit.now):
        priority = chosen_priority(site, event) or kind.priority
        told = told_of(unit.tx, site, unit.now, event)
        for contact in contacts_about(site, kind.subject) if priority != "record" else ():
            text = text_for(site, told, contact, urgent=False)
            enqueue(unit, contact, text, urgent=priority == "urgent", subject=kind.subject, event=event.id)
    return []


def _notify_of_end(unit: UnitOfWork, event: Event) -> list[Event]:
    """Those who were told of a beginning are told of its end. Of a spell that was over before a message of it left, only that one is."""
    site, key = unit.site, key_ended_by(event)
    lately = unit.tx.alarms(ended_since=unit.now)
    ended = [alarm for alarm in lately if alarm.key == key and alarm.state in ("over", "reckoned-over")]
    cancelled: list[Event] = []
    for alarm in ended[-1:]:
        hearers = _told_of_no_end(unit, alarm)
        told = told_of(unit.tx, site, unit.now, event)
        cancelled += _cancel_what_waits(unit, alarm)
        for contact in site.settings.contacts:
            if contact.id in hearers and contact.number != event.sender:  # who says so is answered
                text = text_for(site, told, contact, urgent=False)
                message = enqueue(unit, contact, text, urgent=False, subject=alarm.subject, event=event.id)
                tie(unit, message, (alarm,), "over")
    return cancelled


def _told_of_no_end(unit: UnitOfWork, alarm: Alarm) -> set[str]:
    """Who was told of it, or of the one whose place it took when its float said the same again, and not of an end since."""
    hearers = set(told_of_it(unit.tx, alarm))
    earlier = _whose_place_it_took(unit, alarm)
    while earlier is not None:
        tellings = unit.tx.tellings(alarm=earlier.number)
        if not tellings or any(telling.why == "over" for telling in tellings):
            break
        hearers |= set(told_of_it(unit.tx, earlier))
        earlier = _whose_place_it_took(unit, earlier)
    return hearers


def _whose_place_it_took(unit: UnitOfWork, alarm: Alarm) -> Alarm | None:
    """Of several that ended in that moment (texts that waited come in one) the newest before it."""
    ended = [
        earlier
        for earlier in unit.tx.alarms(ended_since=alarm.raised_at)
        if earlier.key == alarm.key and earlier.over_at == alarm.raised_at and earlier.number < alarm.number
    ]
    return max(ended, key=lambda earlier: earlier.number, default=None)


def notify_of_what_left(unit: UnitOfWork, changed: Event) -> list[Event]:
    """A tank or a box with an alarm left the configuration: those who were told of the alarm hear once that nothing more comes of it."""
    keys, named = changed.detail.get("alarms_ended", ()), {row["key"]: row["from"] for row in changed.detail["changes"]}
    ended = [alarm for alarm in unit.tx.alarms(ended_since=unit.now) if alarm.key in keys]
    hearers = {alarm.key: told_of_it(unit.tx, alarm) for alarm in ended}
    cancelled = [event for alarm in ended for event in _cancel_what_waits(unit, alarm)]
    for contact in unit.site.settings.contacts:
        rows: dict[str, list[Alarm]] = {}
        for alarm in ended:
            if contact.id in hearers[alarm.key]:
                rows.setdefault(_row_of(unit, alarm), []).append(alarm)
        for row, alarms in rows.items():
            values = {"name": named.get(row) or row.partition("[")[2].rstrip("]")}
            text = text_for(unit.site, Told(key=changed.kind, values=values), contact, urgent=False)
            tie(
                unit,
                enqueue(unit, contact, text, urgent=False, subject=alarms[0].subject, event=changed.id),
                alarms,
                "over",
            )
    return cancelled


def _row_of(unit: UnitOfWork, alarm: Alarm) -> str:
    """Whose row of the file it was that is gone."""
    event = unit.tx.event(alarm.event) if which_of_many(alarm) is not None and alarm.event is not None else None
    if event is not None and alarm.controller in unit.site.controllers:
        return f"inputs[{event.detail['name']}]"
    return f"tanks[{alarm.tank}]" if alarm.tank not in (None, *unit.site.tanks) else f"controllers[{alarm.controller}]"


def notify_of_what_came(unit: UnitOfWork, changed: Event) -> None:
    """A tank that came (back) to the configuration while its float is active is told like any other; what a float said of another tank is
    not remembered of this one."""
    for placed in unit.site.floats.values():
        last = last_switch(unit.tx, placed, unit.now)
        if float_memory(unit.tx, placed).state == "active" and (last is None or float_after(last) != "active"):
            unit.tx.clear_state(FloatMemory, placed.key)
    rows = {row["key"] for row in changed.detail["changes"] if row["from"] is None}
    for tank in unit.site.tanks:
        active = active_event(unit.tx, unit.site, tank) if f"tanks[{tank}]" in rows else None
        if active is not None:
            notify(unit, active)


def _cancel_what_waits(unit: UnitOfWork, alarm: Alarm) -> list[Event]:
    """Messages of an alarm that is over and of nothing else, which nobody was given yet: overtaken, on record."""
    cancelled = []
    for telling in unit.tx.tellings(alarm=alarm.number):
        waits = telling.state in ("waiting", "held") and telling.tries == 0
        if telling.message is None or not waits:
            continue
        if all(other.alarm == alarm.id for other in unit.tx.tellings(message=telling.message)):
            unit.tx.change_message(telling.message, state="failed")
            cancelled.append(unit.event("cancelled", {"contact": telling.contact, "message": telling.message}))
    return cancelled


def notify_if_active_still(unit: UnitOfWork, quiet: Event) -> None:
    """A float is quiet again: a tank that is low (or high) now is told like any other."""
    switch = quiet.detail["state"]
    if switch not in ("low", "high") or quiet.tank is None:
        return
    last = unit.tx.last_event((switch,), tank=quiet.tank, input=quiet.input)
    if last is not None:
        notify(unit, last)


def notify_of_late(unit: UnitOfWork, past: Event) -> None:
    """A text that newer ones of its sender overtook is passed on word for word, with its time: it moves nothing any more."""
    told = told_of(unit.tx, unit.site, unit.now, past)
    contacts = contacts_about(unit.site, KINDS[past.kind].subject)
    _pass_on(unit, contacts, Told(key="late", values=told.values), past.id)


def notify_of_work(unit: UnitOfWork, paused: Event) -> None:
    """Work on a tank began: all others who hear of tanks are told who works there."""
    site = unit.site
    worker = site.contacts.get(paused.detail["by"] or "")
    values = {
        "who": worker.name if worker else site.phrases.label("somebody"),
        "tank": site.tank_name(paused.tank),
        "until": When(datetime.fromisoformat(paused.detail["until"]), unit.now, site.zone),
    }
    others = (contact for contact in contacts_about(site, "tanks") if contact != worker)
    _say(unit, others, "pause-told", values, subject="tanks", event=paused)


def notify_of_work_over(unit: UnitOfWork, over: Event) -> None:
    """Work on a tank is over: who asked for it learns how the tank stands, and a tank that is low is told to all."""
    site = unit.site
    worker = site.contacts.get(over.detail["by"] or "")
    values = {"tank": site.tank_name(over.tank), "state": Label(over.detail["state"])}
    contacts = (worker,) if worker else contacts_about(site, "tanks")
    _say(unit, contacts, "pause-over", values, subject="tanks", event=over)
    still = active_event(unit.tx, site, over.tank) if over.tank else None
    if still is not None:
        notify(unit, still)


def notify_of_giving_up(unit: UnitOfWork, given_up: Event) -> None:
    """A message was given up: everyone else hears it, for somebody may believe that this contact knows."""
    site = unit.site
    message = unit.tx.message(given_up.detail["message"])
    if message is None or message.contact is None or message.subject == "gateway":
        return
    values = {"name": site.contact_name(message.contact), "raw": message.text}
    others = (contact for contact in contacts_about(site, message.subject) if contact.id != message.contact)
    _say(unit, others, "given-up", values, subject="gateway", event=given_up)


def notify_of_limit(unit: UnitOfWork, held_back: Event) -> None:
    """The day's texts are used up: everyone hears until when only urgent ones leave. A digest is no such case."""
    site = unit.site
    if "limit" not in held_back.detail:
        return
    ends = datetime.fromisoformat(held_back.detail["until"])
    values = {"limit": held_back.detail["limit"], "until": When(ends, unit.now, site.zone)}
    _say(unit, site.settings.contacts, "over-limit", values, subject="gateway", event=held_back, urgent=True)


def notify_of_stranger(unit: UnitOfWork, text: Text) -> None:
    """An unknown sender's text is told to the `gateway` contacts where the household wants that."""
    site = unit.site
    if site.settings.limits.unknown_senders != "forward":
        return
    values = {"number": text.number, "since": When(text.at, unit.now, site.zone), "raw": harmless(text.text)}
    _pass_on(unit, contacts_about(site, "gateway"), Told(key="stranger", values=values), None)


def _pass_on_event(unit: UnitOfWork, event: Event) -> None:
    """What cannot be read goes on as it came, to those who look after controllers (or, with no controller, the gateway)."""
    contacts = contacts_about(unit.site, "controllers" if event.controller else "gateway")
    subject: Subject | None = "gateway" if KINDS[event.kind].subject == "gateway" else None
    _pass_on(unit, contacts, told_of(unit.tx, unit.site, unit.now, event), event.id, subject=subject)


def _pass_on(
    unit: UnitOfWork, contacts: Iterable[Contact], told: Told, event: int | None, *, subject: Subject | None = None
) -> None:
    """Word for word, in as many messages as it takes; without a `subject` by what the contact hears of."""
    whole = unit.site.phrases.uncut_head(told.key, told.values)
    hearers = tuple(contacts)
    for piece in in_pieces(whole, unit.site.segments):
        for contact in hearers:
            theirs: Subject = "controllers" if "controllers" in contact.about else "gateway"
            enqueue(unit, contact, piece, urgent=False, subject=subject or theirs, event=event)


def _say(
    unit: UnitOfWork,
    contacts: Iterable[Contact],
    key: str,
    values: Mapping[str, object],
    *,
    subject: Subject,
    event: Event,
    urgent: bool = False,
) -> None:
    for contact in contacts:
        text = unit.site.phrases.message(key, values, segments=unit.site.segments, line=contact.line)
        enqueue(unit, contact, text, urgent=urgent, subject=subject, event=event.id)
