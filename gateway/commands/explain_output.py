"""What a text would do → lines of 80 columns for a person, and JSON.

In: how it was read, the events and messages that would come of it. Out: printed lines, or one JSON object.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from gateway.commands.terminal_output import counted, local_time, print_table, print_text
from gateway.facts import NUMBER_FIELDS, Event, Message, Reading, RuleRead
from gateway.rules.trial import Trial
from gateway.settings.controller_tables import Controller, Input
from gateway.settings.durations import format_duration
from gateway.site import PlacedFloat, PlacedGauge, Site
from gateway.water.gauge_heights import height_of

LABEL_COLUMNS = 10
ENDS_UNHEARD = {
    "reckoned": "whose alarm is over by reckoning alone (refill time): no rule can say so, or the configuration has it so",
    "said": "whose alarm is over when somebody texts OVER",
}

POWER_STILL = {"power-lost": "the power was known to be lost already", "power-back": "it was not known to be lost"}
"""What a text says of the power that says nothing new."""


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
    fresh: bool = False


def explained_json(site: Site, explained: Explained) -> dict[str, object]:
    """The contract's keys, and beside them events, rules and who would be told later."""
    price = site.settings.limits.price_per_segment
    return {
        "text": explained.text,
        "controller": explained.controller.id if explained.controller else None,
        "rule": explained.read.rule,
        "readings": [_reading_json(site, explained, reading) for reading in explained.read.readings],
        "messages": [_message_json(message, when, price) for message, when in explained.messages],
        "later": [
            {"contact": contact, "after": format_duration(after)} for contact, after in _told_later(site, explained)
        ],
        "events": [{"kind": event.kind, "tank": event.tank} for event in explained.events],
        "rules": [
            {
                "rule": trial.rule,
                "fitted": trial.fitted,
                "why": trial.why,
                "fields": dict(trial.fields),
                "passed_over": list(trial.passed_over),
            }
            for trial in explained.trials
        ],
    }


def print_explained(site: Site, explained: Explained) -> None:
    """Prints it, and an empty line."""
    _print_line("Text", explained.text)
    _print_line("From", explained.sender)
    for trial in explained.trials:
        _print_line("", _trial_words(explained.controller, trial))
    if explained.controller is not None and explained.read.rule is None:
        _print_line("Read by", "no rule: it would be passed on word for word")
    for reading in explained.read.readings:
        _print_line("Reads", _reading_words(site, explained, reading))
    for event in explained.events:
        _print_line("Event", _event_words(site, event))
    _print_messages(site, explained)
    if not explained.fresh and any("still" in event.detail for event in explained.events):
        _print_line("Else", "as if nothing had come before: the same with --fresh")
    print()


def print_count(explained: Sequence[Explained]) -> None:
    """At the end of many: `12 texts: 9 read, 2 by no rule, 1 to be ignored.`"""
    from_boxes = [of_text.read for of_text in explained if of_text.controller is not None]
    unread = sum(read.rule is None for read in from_boxes)
    ignored = sum(
        bool(read.readings) and all(reading.means == "ignore" for reading in read.readings) for read in from_boxes
    )
    others = len(explained) - len(from_boxes)
    counts = {
        "read": len(from_boxes) - unread - ignored,
        "by no rule": unread,
        "to be ignored": ignored,
        "of people": others,
    }
    told = ", ".join(f"{count} {what}" for what, count in counts.items() if count)
    print(f"{counted(len(explained), 'text')}: {told or 'none'}.")


def _print_line(label: str, text: str) -> None:
    print_text(text, label=label.ljust(LABEL_COLUMNS))


def _trial_words(controller: Controller | None, trial: Trial) -> str:
    """How one rule fared with the text, and what its fields would take."""
    rule = controller.rules[trial.rule - 1] if controller else None
    pattern = (rule.text or rule.regex or "") if rule else ""
    if not trial.fitted:
        how = trial.why if trial.why.startswith("not tried") else f"does not fit: {trial.why}"
        return f'rule {trial.rule} "{pattern}" {how}'
    fields = ", ".join(f"{name} = {value}" for name, value in trial.fields.items())
    passed_over = " and ".join(f'"{words}"' for words in trial.passed_over)
    beside = f"; its * passes over {passed_over}" if passed_over else ""
    return f'rule {trial.rule} "{pattern}" {trial.why}{": " if fields else ""}{fields}{beside}'


def _reading_words(site: Site, explained: Explained, reading: Reading) -> str:
    fields = [f"{name} {value}" for name, value in _fields(reading).items() if value is not None]
    if reading.means == "level":
        gauge, height = _gauge(site, explained, reading), _height(site, explained, reading)
        whose = f"the gauge of {gauge.tank.name}" if gauge else "no gauge of this configuration"
        stands = "" if gauge is None else f", {height:.2f} m" if height is not None else ", which is no level of it"
        return ", ".join([f"rule {reading.rule}: level of input {reading.input}", *fields, whose]) + stands
    if reading.means != "input":
        return ", ".join([f"rule {reading.rule}: {reading.means}", *fields])
    placed, own = _placed(site, explained, reading), _own_input(site, explained, reading)
    if own is not None:
        return ", ".join([f"rule {reading.rule}: input {reading.input} {reading.state}, {own.name}", *fields])
    tank = f"the {placed.float.means} float of {placed.tank.name}" if placed else "no float of this configuration"
    how = [ENDS_UNHEARD[placed.ends]] if placed and placed.ends in ENDS_UNHEARD else []
    return ", ".join([f"rule {reading.rule}: input {reading.input} {reading.state}, {tank}", *fields, *how])


def _event_words(site: Site, event: Event) -> str:
    where = site.tank_name(event.tank) or site.controller_name(event.controller) or ""
    words = f"{event.kind}, {where}, at {local_time(event.at, site.zone)}"
    if "settling" in event.detail:
        placed = site.floats.get((event.controller or "", event.input or ""))
        return (
            f"{words}; it counts once it has held for {format_duration(placed.float.settle) if placed else 'its time'}"
        )
    if "still" in event.detail:
        still = event.detail["still"]
        return f"{words}; {POWER_STILL.get(still, f'the float was {still} already')}"
    return words


def _print_messages(site: Site, explained: Explained) -> None:
    if not explained.messages:
        _print_line("Messages", "none would go")
        return
    rows = [
        (site.contact_name(message.contact) or message.number, when, message.segments, message.text)
        for message, when in explained.messages
    ]
    print_table(("to", "when", "segments", "message"), rows)
    for contact, after in _told_later(site, explained):
        _print_line(
            "Later", f"{site.contact_name(contact)}, at most {format_duration(after)} later, if nobody takes it"
        )
    limits = site.settings.limits
    if limits.price_per_segment:
        segments = sum(message.segments for message, _ in explained.messages)
        cost = f"{segments * limits.price_per_segment:.2f} {limits.currency}"
        _print_line("Cost", f"{segments} × {limits.price_per_segment:g} = {cost}")


def _told_later(site: Site, explained: Explained) -> Iterator[tuple[str, timedelta]]:
    """Contacts of later turns, with the longest they wait; a turn whose messages all fail is passed over sooner."""
    table = site.settings.call_out
    subjects = {message.subject for message, _ in explained.messages if message.urgent}
    if not subjects or not table.take_within:
        return
    told_now = {message.contact for message, _ in explained.messages}
    concerned = [contact for contact in site.settings.contacts if subjects & set(contact.about)]
    turns = sorted({contact.turn for contact in concerned})
    for contact in sorted(concerned, key=lambda contact: contact.turn):
        if contact.id not in told_now:
            yield contact.id, table.take_within * turns.index(contact.turn)


def _reading_json(site: Site, explained: Explained, reading: Reading) -> dict[str, object]:
    placed = _gauge(site, explained, reading) if reading.means == "level" else _placed(site, explained, reading)
    return {
        "rule": reading.rule,
        "means": reading.means,
        "input": reading.input,
        "state": reading.state,
        "tank": placed.tank.id if placed else None,
        "ends": placed.ends if isinstance(placed, PlacedFloat) else None,
        **_fields(reading),
        **({"level_m": _height(site, explained, reading)} if reading.means == "level" else {}),
    }


def _message_json(message: Message, when: str, price_per_segment: float) -> dict[str, object]:
    return {
        "contact": message.contact,
        "number": message.number,
        "text": message.text,
        "segments": message.segments,
        "when": when,
        "cost": round(message.segments * price_per_segment, 4),
    }


def _fields(reading: Reading) -> dict[str, float | str | None]:
    """Every field that a rule can read beside an input, also those that this one did not."""
    return {**{name: reading.numbers.get(entry.name) for name, entry in NUMBER_FIELDS.items()}, "word": reading.word}


def _placed(site: Site, explained: Explained, reading: Reading) -> PlacedFloat | None:
    controller = explained.controller.id if explained.controller else ""
    return site.floats.get((controller, reading.input or ""))


def _gauge(site: Site, explained: Explained, reading: Reading) -> PlacedGauge | None:
    controller = explained.controller.id if explained.controller else ""
    return site.gauges.get((controller, reading.input or ""))


def _height(site: Site, explained: Explained, reading: Reading) -> float | None:
    """The height that the reading stands for; None where no gauge is there, or it can be none."""
    placed = _gauge(site, explained, reading)
    height = height_of(placed.gauge, placed.tank.shape, reading.numbers["level"]) if placed else None
    return round(height, 4) if isinstance(height, float) else None


def _own_input(site: Site, explained: Explained, reading: Reading) -> Input | None:
    controller = explained.controller.id if explained.controller else ""
    return site.inputs.get((controller, reading.input or ""))
