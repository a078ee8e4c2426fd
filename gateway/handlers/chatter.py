"""Switches of one float → told each, or, where it chatters, one message until it has been quiet.

Mark `chatter:<float>`: the episode as the call-out room keeps it.
"""

from datetime import datetime
from typing import Any

from gateway.alarms.float_chatter import ChatterEpisode, ChatterVerdict, count_switch, is_over, over_at
from gateway.facts import Event
from gateway.handlers.notify import notify
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Reader
from gateway.site import PlacedFloat


def watch(unit: UnitOfWork, placed: PlacedFloat, at: datetime) -> ChatterVerdict:
    """Counts one switch of that time; `fine` where chatter is not watched."""
    if not unit.site.settings.limits.chatter:
        return "fine"
    episode, verdict = count_switch(_episode(unit.tx, placed), at)
    unit.tx.set_mark(_key(placed), episode.as_json())
    return verdict


def begins(unit: UnitOfWork, placed: PlacedFloat, switch: Event) -> None:
    """The float is at fault until it is quiet: one event, one message."""
    episode = _episode(unit.tx, placed)
    _happen(
        unit, placed, "float-fault", {"count": len(episode.changes), "since": min(episode.changes).isoformat()}, switch
    )


def quiet_due(unit: UnitOfWork) -> bool:
    """Floats that have been quiet long enough are watched as usual again; told with how they stand."""
    from gateway.handlers.floats import remembered

    any_quiet = False
    for placed in unit.site.floats.values():
        if unit.tx.mark(_key(placed)) is None:
            continue
        episode = _episode(unit.tx, placed)
        if not is_over(episode, unit.now):
            continue
        any_quiet = True
        was_restless = episode.restless
        unit.tx.set_mark(_key(placed), None)
        if not was_restless:
            continue
        memory = remembered(unit, placed)
        state = placed.float.means if memory.state == "active" else "ok"
        event = _happen(unit, placed, "float-quiet", {"state": state}, None)
        _tell_if_still(unit, placed, state, event)
    return any_quiet


def next_due(reader: Reader, placed: PlacedFloat) -> datetime | None:
    """When this float's episode can be over."""
    mark = reader.mark(_key(placed))
    return None if mark is None else over_at(ChatterEpisode.from_json(mark))


def _tell_if_still(unit: UnitOfWork, placed: PlacedFloat, state: str, quiet: Event) -> None:
    """A tank that is low once its float is quiet is a call-out like any other."""
    if state != placed.float.means:
        return
    last = unit.tx.last_event((placed.float.means,), tank=placed.tank.id, input=quiet.input)
    if last is not None:
        notify(unit, last)


def _happen(unit: UnitOfWork, placed: PlacedFloat, kind: Any, detail: dict[str, Any], switch: Event | None) -> Event:
    from gateway.handlers.record import record_event

    return record_event(
        unit,
        Event(
            kind=kind,
            at=switch.at if switch else unit.now,
            heard_at=unit.now,
            known_at=unit.now,
            tank=placed.tank.id,
            controller=placed.float.controller,
            input=str(placed.float.input),
            detail=detail,
        ),
    )


def _episode(reader: Reader, placed: PlacedFloat) -> ChatterEpisode:
    return ChatterEpisode.from_json(reader.mark(_key(placed)))


def _key(placed: PlacedFloat) -> str:
    return f"chatter:{placed.key}"
