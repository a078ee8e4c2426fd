"""What a text would do → lines of 80 columns for a person, and JSON.

In: how it was read, the events and messages that would come of it. Out: printed lines, or one JSON object.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from gateway.alarms import is_urgent
from gateway.commands.showing import local, print_table, print_text
from gateway.facts import KINDS, NUMBER_FIELDS, Event, Message, Reading, RuleRead
from gateway.rules.trial import Trial
from gateway.settings.durations import format_duration
from gateway.settings.models import Controller
from gateway.site import PlacedFloat, Site

_LABEL_COLUMNS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """One text from one number; `sender` in words; `messages` each with when it would leave."""

    text: str
    sender: str
    controller: Controller | None
    read: RuleRead
    trials: tuple[Trial, ...]
    events: tuple[Event, ...]
    messages: tuple[tuple[Message, str], ...]


def as_json(site: Site, one: Explained) -> dict[str, Any]:
    """The contract's keys, and beside them events, rules and who would be told later."""
    price = site.settings.limits.price_per_segment
    return {
        "text": one.text,
        "controller": one.controller.id if one.controller else None,
        "rule": one.read.rule,
        "readings": [_reading(site, one, reading) for reading in one.read.readings],
        "messages": [
            {
                "contact": message.contact,
                "number": message.number,
                "text": message.text,
                "segments": message.segments,
                "when": when,
                "cost": round(message.segments * price, 4),
            }
            for message, when in one.messages
        ],
        "later": [{"contact": contact, "after": format_duration(after)} for contact, after in _later(site, one)],
        "events": [{"kind": event.kind, "tank": event.tank} for event in one.events],
        "rules": [
            {"rule": trial.rule, "fitted": trial.fitted, "why": trial.why, "fields": dict(trial.fields)}
            for trial in one.trials
        ],
    }


def show(site: Site, one: Explained) -> None:
    """Prints it, and an empty line."""
    _line("Text", one.text)
    _line("From", one.sender)
    for trial in one.trials:
        _line("", _tried(one, trial))
    if one.controller is not None and one.read.rule is None:
        _line("Read by", "no rule: it would be passed on word for word")
    for reading in one.read.readings:
        _line("Reads", _said(site, one, reading))
    for event in one.events:
        _line("Event", _happened(site, event))
    _messages(site, one)
    print()


def _line(label: str, said: str) -> None:
    print_text(said, label=label.ljust(_LABEL_COLUMNS))


def _tried(one: Explained, trial: Trial) -> str:
    rule = one.controller.rules[trial.rule - 1] if one.controller else None
    pattern = (rule.text or rule.regex or "") if rule else ""
    how = trial.why if trial.fitted or trial.why.startswith("not tried") else f"does not fit: {trial.why}"
    took = ", ".join(f"{name} = {value}" for name, value in trial.fields.items())
    return f'rule {trial.rule} "{pattern}" {how}{": " if took and trial.fitted else ""}{took if trial.fitted else ""}'


def _said(site: Site, one: Explained, reading: Reading) -> str:
    numbers = [f"{name} {value}" for name, value in _fields(reading).items() if value is not None]
    if reading.means != "input":
        return ", ".join([f"rule {reading.rule}: {reading.means}", *numbers])
    placed = _placed(site, one, reading)
    tank = f"the {placed.float.means} float of {placed.tank.name}" if placed else "no float of this configuration"
    return ", ".join([f"rule {reading.rule}: input {reading.input} {reading.state}, {tank}", *numbers])


def _happened(site: Site, event: Event) -> str:
    where = site.tank_name(event.tank) or site.controller_name(event.controller) or ""
    said = f"{event.kind}, {where}, at {local(event.at, site.zone)}"
    if "settling" in event.detail:
        held = site.floats.get((event.controller or "", event.input or ""))
        return f"{said}; it counts once it has held for {format_duration(held.float.settle) if held else 'its time'}"
    if "still" in event.detail:
        return f"{said}; the float was {event.detail['still']} already"
    return said


def _messages(site: Site, one: Explained) -> None:
    if not one.messages:
        _line("Messages", "none would go")
        return
    rows = [
        (site.contact_name(message.contact) or message.number, when, message.segments, message.text)
        for message, when in one.messages
    ]
    print_table(("to", "when", "segments", "message"), rows, widths=(14, 12, 8, 38))
    for contact, after in _later(site, one):
        _line("Later", f"{site.contact_name(contact)}, at most {format_duration(after)} later, if nobody takes it")
    limits = site.settings.limits
    if limits.price_per_segment:
        segments = sum(message.segments for message, _ in one.messages)
        _line(
            "Cost",
            f"{segments} × {limits.price_per_segment:g} = {segments * limits.price_per_segment:.2f} {limits.currency}",
        )


def _later(site: Site, one: Explained) -> Iterator[tuple[str, timedelta]]:
    """Contacts of later turns, with the longest they wait; a turn whose messages all fail is passed over sooner."""
    table = site.settings.call_out
    subjects = {KINDS[event.kind].subject for event in one.events if is_urgent(event.kind, table)}
    if not subjects or not table.take_within:
        return
    told = {message.contact for message, _ in one.messages}
    mine = [contact for contact in site.settings.contacts if subjects & set(contact.about)]
    turns = sorted({contact.turn for contact in mine})
    for contact in sorted(mine, key=lambda contact: contact.turn):
        if contact.id not in told:
            yield contact.id, table.take_within * turns.index(contact.turn)


def _reading(site: Site, one: Explained, reading: Reading) -> dict[str, Any]:
    placed = _placed(site, one, reading)
    return {
        "rule": reading.rule,
        "means": reading.means,
        "input": reading.input,
        "state": reading.state,
        "tank": placed.tank.id if placed else None,
        **_fields(reading),
    }


def _fields(reading: Reading) -> dict[str, float | str | None]:
    """Every field that a rule can read beside an input, also those that this one did not."""
    return {**{name: reading.numbers.get(entry.name) for name, entry in NUMBER_FIELDS.items()}, "word": reading.word}


def _placed(site: Site, one: Explained, reading: Reading) -> PlacedFloat | None:
    return site.floats.get((one.controller.id if one.controller else "", reading.input or ""))
