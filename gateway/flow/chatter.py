"""Switches of one float → told each, or, where it chatters, one message until it has been quiet.

Mark `chatter:<float>`: the spell as the call-out room keeps it.
"""

from datetime import datetime
from typing import Any, Literal

import gateway.callout.chatter as spells
from gateway.facts import Event
from gateway.flow.house import Moment, PlacedFloat
from gateway.flow.tell import announce
from gateway.ports import Reader

Restless = Literal["fine", "starts", "goes-on"]


def watch(moment: Moment, placed: PlacedFloat, at: datetime) -> Restless:
    """Counts one switch of that time; `fine` where chatter is not watched."""
    if not moment.house.settings.limits.chatter:
        return "fine"
    spell, verdict = spells.watch(_spell(moment.tx, placed), at)
    moment.tx.set_mark(_key(placed), spell.as_json())
    return verdict


def begins(moment: Moment, placed: PlacedFloat, switch: Event) -> None:
    """The float is at fault until it is quiet: one event, one message."""
    spell = _spell(moment.tx, placed)
    _happen(
        moment, placed, "float-fault", {"count": len(spell.changes), "since": min(spell.changes).isoformat()}, switch
    )


def quiet_due(moment: Moment) -> bool:
    """Floats that have been quiet long enough are watched as usual again; told with how they stand."""
    from gateway.flow.floats import remembered

    any_quiet = False
    for placed in moment.house.floats.values():
        if moment.tx.mark(_key(placed)) is None:
            continue
        spell = _spell(moment.tx, placed)
        if not spells.quiet_again(spell, moment.now):
            continue
        any_quiet = True
        was_restless = spell.restless
        moment.tx.set_mark(_key(placed), None)
        if not was_restless:
            continue
        memory = remembered(moment, placed)
        state = placed.float.means if memory.state == "active" else "ok"
        event = _happen(moment, placed, "float-quiet", {"state": state}, None)
        _tell_if_still(moment, placed, state, event)
    return any_quiet


def next_due(reader: Reader, placed: PlacedFloat) -> datetime | None:
    """When this float's spell can be over."""
    mark = reader.mark(_key(placed))
    return None if mark is None else spells.due(spells.ChatterSpell.from_json(mark))


def _tell_if_still(moment: Moment, placed: PlacedFloat, state: str, quiet: Event) -> None:
    """A tank that is low once its float is quiet is a call-out like any other."""
    if state != placed.float.means:
        return
    last = moment.tx.last_event((placed.float.means,), tank=placed.tank.id, input=quiet.input)
    if last is not None:
        announce(moment, last)


def _happen(moment: Moment, placed: PlacedFloat, kind: Any, detail: dict[str, Any], switch: Event | None) -> Event:
    from gateway.flow.happen import happen

    return happen(
        moment,
        Event(
            kind=kind,
            at=switch.at if switch else moment.now,
            heard_at=moment.now,
            known_at=moment.now,
            tank=placed.tank.id,
            controller=placed.float.controller,
            input=str(placed.float.input),
            detail=detail,
        ),
    )


def _spell(reader: Reader, placed: PlacedFloat) -> spells.ChatterSpell:
    return spells.ChatterSpell.from_json(reader.mark(_key(placed)))


def _key(placed: PlacedFloat) -> str:
    return f"chatter:{placed.key}"
