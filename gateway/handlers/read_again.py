"""The controllers' stored texts, read again once the rules were mended: what is read otherwise now takes the place of what was.

Nobody is told. The earlier reading stays in the record as `read-otherwise`, with what it was; forecasts, learnt figures and the page go by
the new one, which counts as known when the text came, like an old text that is imported. What stands by a reading that is gone
(a float's state, an alarm, a power failure) goes with it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from gateway.alarms import rounds
from gateway.facts import KINDS, Event, Text, input_key, kinds_where
from gateway.facts.number_fields import NUMBER_FIELDS
from gateway.facts.states.controllers_and_tanks import FloatMemory, GaugeMemory, PowerLost
from gateway.handlers.text import read_text_again
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Reader, StoredText
from gateway.settings.controller_tables import Controller
from gateway.site import PlacedFloat, Site
from gateway.status.float_memory import float_memory, float_memory_then
from gateway.status.gauge_memory import gauge_limits
from gateway.status.levels import heights_of
from gateway.tanks import apply_height

SWITCHES = kinds_where(lambda kind: kind.switch)
FROM_READINGS = (*SWITCHES, "power-lost", "power-back", "reading", "level", "alive", "unread")
"""What a reading alone makes. Of the others a text brings, only what judges the battery goes with a reading that is gone."""
POWER = ("power-lost", "power-back")
HEIGHTS_REMEMBERED = 50
"""Of a gauge whose texts are read otherwise: so many of the newest make what is known of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOtherwise:
    """One text whose reading changed: its events as they were, and as they are now."""

    text: StoredText
    controller: str
    was: tuple[Event, ...]
    now: tuple[Event, ...]


def texts_of_controllers(reader: Reader, site: Site, since: datetime | None) -> tuple[StoredText, ...]:
    """What is to be read again, the oldest first."""
    return tuple(
        text for text in reader.texts(since=since) if text.way == "in" and site.controller_of(text.number) is not None
    )


class ReadingAgain:
    """Carries from one transaction to the next what has changed so far: what a text means may hang on those before it.

    Each ends with the present set right; what still is to be read counts in it as it was read before. Begun anew after an end half way,
    it does the remainder.
    """

    def __init__(self) -> None:
        self._touched: set[str] = set()
        self._lost_power: set[str] = set()

    def read(self, unit: UnitOfWork, texts: Iterable[StoredText]) -> list[ReadOtherwise]:
        """The next of them, in the unit's transaction, which has to be an `imported` one; what changed."""
        changes: list[ReadOtherwise] = []
        for text in texts:
            controller = unit.site.controller_of(text.number)
            change = _read_one(unit, controller, text, self._touched) if controller is not None else None
            if controller is not None and change is not None:
                changes.append(change)
                events = (*change.was, *change.now)
                self._touched |= {_float_of(event) for event in events}
                if any(event.kind in POWER or event.detail.get("still") in POWER for event in events):
                    self._lost_power.add(controller.id)
        _set_floats_right(unit, self._touched)
        _set_gauges_right(unit, self._touched)
        _set_power_right(unit, self._lost_power)
        _end_alarms_of_what_is_gone(unit)
        return changes


def newly_active(reader: Reader, site: Site, changes: Iterable[ReadOtherwise]) -> tuple[PlacedFloat, ...]:
    """Floats that stand active now by a text that was not read so before: nobody was told of them."""
    anew = {_float_of(event) for change in changes for event in change.now if event.kind in SWITCHES}
    return tuple(
        placed
        for placed in site.floats.values()
        if placed.key in anew and float_memory(reader, placed).state == "active"
    )


def _read_one(unit: UnitOfWork, controller: Controller, text: StoredText, touched: set[str]) -> ReadOtherwise | None:
    """None where the reading is what it was: then the record is as it was too."""
    earlier = _events_of(unit, controller, text)
    was = tuple(event for event in earlier if event.kind in FROM_READINGS and not _follows_from_level(unit, event))
    for event in was:
        # out of sight, so that a float is judged by what was known before this text
        unit.tx.change_event(_id(event), "read-otherwise", event.detail)
    state, now = read_text_again(unit, controller, _as_it_came(text, was))
    if _same(was, now, touched):
        for event in now:
            unit.tx.drop_event(_id(event))
        for event in was:
            unit.tx.change_event(_id(event), event.kind, event.detail)
        return None
    judged = [
        event for event in earlier if KINDS[event.kind].opens == "battery" or KINDS[event.kind].closes == "battery"
    ]
    for event in (*was, *judged):
        unit.tx.change_event(_id(event), "read-otherwise", {**event.detail, "was": event.kind})
    unit.tx.read_text_anew(text.id, state, controller.id, next((event.id for event in now), None))
    return ReadOtherwise(text=text, controller=controller.id, was=was, now=tuple(now))


def _events_of(unit: UnitOfWork, controller: Controller, text: StoredText) -> tuple[Event, ...]:
    at_once = unit.tx.events(since=text.at, until=text.at)
    return tuple(
        event
        for event in at_once
        if (event.sender, event.text) == (text.number, text.text)
        and event.kind in KINDS
        and event.kind != "read-otherwise"
    )


def _follows_from_level(unit: UnitOfWork, event: Event) -> bool:
    """A gauge's tank went low or high: that follows from the level, which is the reading."""
    return event.kind in SWITCHES and (event.controller or "", event.input or "") in unit.site.gauges


def _as_it_came(text: StoredText, was: Sequence[Event]) -> Text:
    """With what its events kept of the way it came."""
    detail: Mapping[str, Any] = was[0].detail if was else {}
    stamp = detail.get("network_stamp")
    return Text(
        number=text.number,
        text=text.text,
        at=text.at,
        heard_at=text.at,
        stamp=datetime.fromisoformat(stamp) if stamp else None,
        missing_parts=tuple(detail.get("missing_parts", ())),
        perhaps_repeat=bool(detail.get("perhaps_repeat")),
    )


def _same(was: Sequence[Event], now: Sequence[Event], touched: set[str]) -> bool:
    """Whether the same was read. Whether a float switched by it or only said it again is another reading only where what came before it
    changed: at the time a float may have been settling, or the same text have counted as a new alarm."""
    if _readings_in(was) != _readings_in(now):
        return False
    switched_was, switched_now = _switches_in(was), _switches_in(now)
    if any(switched_was.get(float_, kind) != kind for float_, kind in switched_now.items()):
        return False
    return switched_was == switched_now or not touched & (switched_was.keys() | switched_now.keys())


def _readings_in(events: Sequence[Event]) -> set[tuple[object, ...]]:
    return {_reading_of(event) for event in events}


def _reading_of(event: Event) -> tuple[object, ...]:
    numbers = tuple(
        sorted((name, value) for name, value in event.detail.items() if name in NUMBER_FIELDS or name == "word")
    )
    said = event.detail.get("still", event.detail.get("settling"))
    if event.kind in SWITCHES:
        return event.tank, event.input, "idle" if KINDS[event.kind].closes else "active", numbers
    if said in POWER:
        return None, None, said, numbers
    if event.kind == "alive" and said is not None:
        return event.tank, event.input, said, numbers
    return event.tank, event.input, event.kind, numbers


def _switches_in(events: Sequence[Event]) -> dict[str, str]:
    return {_float_of(event): event.kind for event in events if event.kind in SWITCHES}


def _float_of(event: Event) -> str:
    return f"{event.controller}:{input_key(event.input or '')}"


def _id(event: Event) -> int:
    assert event.id is not None
    return event.id


def _set_floats_right(unit: UnitOfWork, touched: set[str]) -> None:
    """A float stands as the newest text says that is read as one of its."""
    for placed in unit.site.floats.values():
        if placed.key not in touched:
            continue
        then, kept = float_memory_then(unit.tx, placed, unit.now), float_memory(unit.tx, placed)
        if then.state == kept.state:
            continue
        if then == FloatMemory():
            unit.tx.clear_state(FloatMemory, placed.key)
        else:
            unit.tx.set_state(then, placed.key)


def _set_gauges_right(unit: UnitOfWork, touched: set[str]) -> None:
    """A gauge whose texts are read otherwise is known by what they say now, from its newest readings on."""
    for placed in unit.site.gauges.values():
        if placed.key not in touched:
            continue
        memory, limits = GaugeMemory(), gauge_limits(unit.site, placed)
        for height in heights_of(unit.tx, placed, unit.now, limit=HEIGHTS_REMEMBERED):
            step = apply_height(memory, height.level_m, height.at, limits)
            memory = replace(step.memory, seen_at=height.at)
        if memory == GaugeMemory():
            unit.tx.clear_state(GaugeMemory, placed.key)
        else:
            unit.tx.set_state(memory, placed.key)


def _set_power_right(unit: UnitOfWork, controllers: set[str]) -> None:
    for controller in controllers:
        last = unit.tx.last_event(POWER, controller=controller)
        if last is None or last.kind == "power-back":
            unit.tx.clear_state(PowerLost, controller)
        else:
            unit.tx.set_state(PowerLost(since=last.at), controller)


def _end_alarms_of_what_is_gone(unit: UnitOfWork) -> None:
    """An alarm that stands by a reading which is no more is over, without a word."""
    for alarm in unit.tx.alarms():
        event = None if alarm.event is None else unit.tx.event(alarm.event)
        if event is not None and event.kind == "read-otherwise":
            unit.tx.put_alarm(rounds.end(alarm, unit.now))
