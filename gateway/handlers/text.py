"""One whole text → who sent it, what it says, what follows.

A controller's text is read by its rules; a contact's text is an order; anybody else's is kept, moves nothing and gets no
answer. Every controller's text is a sign of life, also one that no rule reads: that one is passed on word for word.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import Event, EventKind, InState, Reading, RuleRead, Text
from gateway.handlers.adoption import ask_of_box, ask_of_contact
from gateway.handlers.cold import cold_read
from gateway.handlers.controllers import (
    battery_read,
    controller_heard,
    power_changed,
    watch_high_voltage,
    watch_losses_of,
)
from gateway.handlers.errands import box_clock_read, errand_heard
from gateway.handlers.event_followers import record_event
from gateway.handlers.floats import float_read
from gateway.handlers.gauges import gauge_read
from gateway.handlers.inputs import input_read
from gateway.handlers.named_readings import named_reading_read
from gateway.handlers.notify import notify_of_stranger
from gateway.handlers.order import obey, order_of
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.walk import hear_input_without_float, hear_on_walk, hear_stranger_on_walk
from gateway.orders import Adopt, Order, Unknown, parse
from gateway.settings.controller_tables import Controller
from gateway.settings.people_tables import Contact
from gateway.status.adopted import site_with_adopted
from gateway.status.errands import read_with_answer

TAKEN_BY_THE_NETWORK = timedelta(days=1)
"""A text is stamped when it is written: so much earlier than it came, at the most, is looked for."""


def read_text(unit: UnitOfWork, text: Text, *, import_key: str | None = None) -> bool:
    """Stores the text and all that follows; False where an import had it before."""
    controller = unit.site.controller_of(text.number)
    if controller is not None:
        return _from_controller(unit, controller, text, import_key)
    contact = unit.site.contact_by_number.get(text.number)
    if contact is not None:
        return _from_contact(unit, contact, text, import_key)
    return _from_stranger(unit, text, import_key)


def _from_controller(unit: UnitOfWork, controller: Controller, text: Text, import_key: str | None) -> bool:
    read = _read_by_rules_and_errand(unit, controller, text)
    state = _state_of_read(unit, controller, read)
    text_id = unit.tx.keep_text(
        text, state, controller=controller.id, import_key=import_key, known_at=_known_at(unit, text)
    )
    if text_id is None:
        return False
    controller_heard(unit, controller, text)
    watch_losses_of(unit, controller, text)
    errand_heard(unit, controller, text, read)
    box_clock_read(unit, controller, text, read)
    first = _first_stored(_record_all(unit, controller, text, read))
    if first is not None:
        unit.tx.tie_text(text_id, first)
    return True


def read_text_again(unit: UnitOfWork, controller: Controller, text: Text) -> tuple[InState, list[Event]]:
    """A text that was read before, by today's rules: its state, and its events as they are stored anew. Nobody is told (`imported`)."""
    assert unit.imported
    read = unit.site.books[controller.id].read(text.text)
    return _state_of_read(unit, controller, read), _record_all(unit, controller, text, read)


def _read_by_rules_and_errand(unit: UnitOfWork, controller: Controller, text: Text) -> RuleRead:
    """An old text that is imported answers nothing that is asked today."""
    read = unit.site.books[controller.id].read(text.text)
    return read if unit.imported else read_with_answer(unit.tx, unit.site, controller, text, read)


def _record_all(unit: UnitOfWork, controller: Controller, text: Text, read: RuleRead) -> list[Event]:
    """Every reading's event; of a text that no rule reads, that."""
    events = [_record_reading(unit, controller, text, reading) for reading in _readings(read)]
    if read.rule is None:
        timed_out = {"timed_out": list(read.timed_out)} if read.timed_out else {}
        events.append(_record_unread(unit, controller, text, timed_out))
    return events


def _first_stored(events: Sequence[Event]) -> int | None:
    return next((event.id for event in events if event.id is not None), None)


def _readings(read: RuleRead) -> list[Reading]:
    return [reading for reading in read.readings if reading.means != "ignore"]


def _state_of_read(unit: UnitOfWork, controller: Controller, read: RuleRead) -> InState:
    """`unread` also where it tells only of inputs on which nothing is."""
    if read.rule is None:
        return "unread"
    readings = _readings(read)
    if not readings:
        return "ignored"
    return "read" if any(_is_placed(unit, controller, reading) for reading in readings) else "unread"


def _is_placed(unit: UnitOfWork, controller: Controller, reading: Reading) -> bool:
    """Whether something is on the reading's input: a float or one of no tank's; for a level a gauge."""
    place = (controller.id, reading.input or "")
    match reading.means:
        case "input":
            return place in unit.site.floats or place in unit.site.inputs
        case "level":
            return place in unit.site.gauges
    return True


def _record_reading(unit: UnitOfWork, controller: Controller, text: Text, reading: Reading) -> Event:
    """One reading → its one event, and what is beside it: the battery's."""
    event = _event(unit, controller, text, "alive", {"rule": reading.rule, **_numbers_of(reading)}, reading.input)
    if reading.numbers.keys() & {"volts", "percent"} and _is_of_battery(controller, reading):
        battery_read(unit, controller, text, reading)
        if "volts" in reading.numbers:
            watch_high_voltage(unit, controller, text, reading.numbers["volts"])
    cold_read(unit, controller, text, reading)
    match reading.means:
        case "input":
            return _record_input(unit, controller, text, reading, event)
        case "level":
            gauge = unit.site.gauges.get((controller.id, reading.input or ""))
            if gauge is None:
                return _record_unread(unit, controller, text, {"why": f"no gauge is on input {reading.input}"})
            return gauge_read(unit, gauge, reading, event)
        case "power-lost" | "power-back":
            return power_changed(unit, controller, reading.means, event)
        case "reading":
            stored = record_event(unit, replace(event, kind="reading"))
            named_reading_read(unit, controller, reading, event)
            return stored
        case "alive" | "ignore":
            return record_event(unit, event)


def _is_of_battery(controller: Controller, reading: Reading) -> bool:
    """Volts and percent are the box's battery unless the rule says whose they are."""
    return controller.rules[reading.rule - 1].of in ("", "battery")


def _record_input(unit: UnitOfWork, controller: Controller, text: Text, reading: Reading, event: Event) -> Event:
    place = (controller.id, reading.input or "")
    placed, own = unit.site.floats.get(place), unit.site.inputs.get(place)
    if placed is not None:
        walked = hear_on_walk(unit, placed, reading, event)
        if walked is not None:
            return walked
        return float_read(unit, placed, reading, event)
    if own is not None:
        return input_read(unit, own, reading, event)
    hear_input_without_float(unit, controller, reading.input or "")
    return _record_unread(unit, controller, text, {"why": f"no float is on input {reading.input}"})


def _record_unread(unit: UnitOfWork, controller: Controller, text: Text, detail: Mapping[str, Any]) -> Event:
    return record_event(unit, _event(unit, controller, text, "unread", detail, None))


def _event(
    unit: UnitOfWork,
    controller: Controller,
    text: Text,
    kind: EventKind,
    detail: Mapping[str, Any],
    input: str | None,
) -> Event:
    return unit.event(
        kind,
        {**detail, **_oddities(text)},
        at=text.at,
        controller=controller.id,
        input=input,
        text=text.text,
        sender=text.number,
    )


def _numbers_of(reading: Reading) -> dict[str, Any]:
    """The numbers and the word a reading carries, for an event's detail."""
    word = {} if reading.word is None else {"word": reading.word}
    return dict(reading.numbers) | word


def _oddities(text: Text) -> dict[str, Any]:
    """What of the text's own way here may have to be known later."""
    odd: dict[str, Any] = {}
    if text.missing_parts:
        odd["missing_parts"] = list(text.missing_parts)
    if text.stamp is not None and text.stamp != text.at:
        odd["network_stamp"] = text.stamp.isoformat()
    if text.perhaps_repeat:
        odd["perhaps_repeat"] = True
    if text.doubt is not None:
        odd["time"] = text.doubt
    return odd


def _known_at(unit: UnitOfWork, text: Text) -> datetime:
    return text.at if unit.imported else unit.now


def _from_contact(unit: UnitOfWork, contact: Contact, text: Text, import_key: str | None) -> bool:
    text_id = unit.tx.keep_text(
        text,
        _state_of_order(order_of(unit, contact, text)),
        contact=contact.id,
        import_key=import_key,
        known_at=_known_at(unit, text),
    )
    if text_id is None:
        return False
    event = obey(unit, contact, text)
    if event is not None and event.id is not None:
        unit.tx.tie_text(text_id, event.id)
        if event.kind == "adopted" and event.controller is not None:
            _read_since_asked(unit, event)
    return True


def _state_of_order(order: Order | None) -> InState:
    """`ignored` from a contact who may not ask; `unread` where nothing was understood."""
    if order is None:
        return "ignored"
    return "unread" if isinstance(order, Unknown) else "read"


def _from_stranger(unit: UnitOfWork, text: Text, import_key: str | None) -> bool:
    kept = unit.tx.keep_text(text, "stranger", import_key=import_key, known_at=_known_at(unit, text))
    if kept is not None and not unit.imported:
        hear_stranger_on_walk(unit, text)
        notify_of_stranger(unit, text)
        asked = _ask_whose_it_is(unit, text)
        if asked is not None and asked.id is not None:
            unit.tx.tie_text(kept, asked.id)
    return kept is not None


def _ask_whose_it_is(unit: UnitOfWork, text: Text) -> Event | None:
    """A text that a box's rules read as its own, or that says whose new number it comes from; None: nothing is asked."""
    order = parse(text.text, unit.site.phrases.order_words(), ())
    if isinstance(order, Adopt):
        return ask_of_contact(unit, text, order.said)
    fitting, urgent = [], False
    for controller in unit.site.controllers.values():
        read = unit.site.books[controller.id].read(text.text)
        placed = [reading for reading in _readings(read) if _is_placed(unit, controller, reading)]
        if read.rule is not None and placed:
            fitting.append(controller)
            urgent = urgent or any(reading.state == "active" for reading in placed)
    return ask_of_box(unit, text, fitting, urgent=urgent)


def _read_since_asked(unit: UnitOfWork, adopted: Event) -> None:
    """What came from an adopted number since it was asked about counts now, in the order in which it came."""
    unit = replace(unit, site=site_with_adopted(unit.tx, unit.site))
    controller = unit.site.controllers[adopted.controller or ""]
    since = datetime.fromisoformat(adopted.detail["from"]) - TAKEN_BY_THE_NETWORK
    theirs = [
        text
        for text in unit.tx.texts(since=since)
        if (text.number, text.state) == (adopted.detail["number"], "stranger")
    ]
    asked = max(text.id for text in theirs if text.event is not None)
    for stored in theirs:
        if stored.id < asked:  # what came before anybody was asked is a stranger's
            continue
        text = Text(number=stored.number, text=stored.text, at=stored.at, heard_at=stored.at)
        read = _read_by_rules_and_errand(unit, controller, text)
        controller_heard(unit, controller, text)
        first = _first_stored(_record_all(unit, controller, text, read))
        unit.tx.read_text_anew(stored.id, _state_of_read(unit, controller, read), controller.id, first)
