"""Taps ran dry, or a tank is full → whether what was foretold held, kept for the page to tell; only where it is known what came of it."""

from collections.abc import Mapping, Sequence

from gateway.facts import Event
from gateway.facts.states.controllers_and_tanks import ForecastsHeld
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.forecast import forecast_of

KEPT = 9
"""An eighty percent interval holds in seven of nine."""
BEGAN: Mapping[str, Sequence[str]] = {"ran-dry": ("low", "low-over"), "high": ("low-over", "low")}
"""What came → what it was foretold after, where nothing else of the tank was told since."""


def keep_whether_held(unit: UnitOfWork, came: Event) -> None:
    """Holds the first report against the forecast that was made as the tank went low, or began to fill."""
    tank, kinds = came.tank, BEGAN[came.kind]
    if tank is None:
        return
    *before, _ = unit.tx.events(kinds=(*kinds, came.kind), tank=tank, limit=2)
    if not before or before[0].kind != kinds[0]:
        return
    made = forecast_of(unit.tx, unit.site, tank, before[0].known_at)
    times = None if made is None else made.dry_at if came.kind == "ran-dry" else made.full_at
    if times is None:
        return
    kept = unit.tx.state(ForecastsHeld, tank)
    earlier = kept.held if kept is not None else ()
    unit.tx.set_state(ForecastsHeld(held=(*earlier, times[0] <= came.at <= times[2])[-KEPT:]), tank)
