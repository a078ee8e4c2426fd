"""The record → the litres and heights that a gauge read, oldest first, as they were known at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from gateway.facts import Event, input_key
from gateway.ports import Reader
from gateway.site import PlacedGauge
from gateway.water.level_flows import Level

LOOK_BACK = timedelta(days=14)
MOST_LOOKED_AT = 700
"""Two readings an hour for a fortnight; more often than that the newest days are enough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """One reading that counts."""

    at: datetime
    level_m: float
    litres: float | None


def heights_of(
    reader: Reader, placed: PlacedGauge, at: datetime, *, since: datetime | None = None, limit: int | None = None
) -> tuple[Height, ...]:
    """What a gauge read up to then, as it was known by then, without what could not be believed."""
    gauge = placed.gauge
    events = reader.events(kinds=("level",), tank=placed.tank.id, since=since, until=at, known_by=at, limit=limit)
    whose = (gauge.controller, input_key(gauge.input))
    read = (_height(event) for event in events if (event.controller, event.input) == whose)
    return tuple(height for height in read if height is not None)


def litres_of(reader: Reader, placed: PlacedGauge, at: datetime) -> Sequence[Level]:
    """A gauge's last fortnight in litres; nothing where the tank's shape is not known."""
    heights = heights_of(reader, placed, at, since=at - LOOK_BACK, limit=MOST_LOOKED_AT)
    return tuple((height.at, height.litres) for height in heights if height.litres is not None)


def day_of_levels(levels: Sequence[Event]) -> dict[str, float] | None:
    """A day's levels of one gauge, oldest first → how many, the least, middle and most in m, and the litres that went and came."""
    heights = [height for event in levels if (height := _height(event)) is not None]
    if not heights:
        return None
    read = [height.level_m for height in heights]
    litres = [height.litres for height in heights if height.litres is not None]
    moves = [after - before for before, after in pairwise(litres)]
    return {
        "count": len(read),
        "least_m": min(read),
        "mean_m": round(sum(read) / len(read), 4),
        "most_m": max(read),
        "went_l": round(sum(-move for move in moves if move < 0), 1),
        "came_l": round(sum(move for move in moves if move > 0), 1),
    }


def _height(event: Event) -> Height | None:
    height, litres = event.detail.get("level_m"), event.detail.get("litres")
    if "doubt" in event.detail or not isinstance(height, int | float):
        return None
    known = float(litres) if isinstance(litres, int | float) else None
    return Height(at=event.at, level_m=float(height), litres=known)
