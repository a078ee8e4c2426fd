"""The water in the vessels → what their gauges read, on the hour, as texts of their boxes in their own dialect.

A gauge of the simulated field is right to a hundredth of the tank's height; one whose controller has no rule for a level says nothing.
"""

import random
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from gateway.settings.models import Settings
from gateway.settings.water_tables import Gauge, Tank
from gateway.simulator.household.box import BoxText, FieldBox
from gateway.water.gauge_heights import along, points_of
from gateway.water.volumes import below_l, height_m, level_m

EVERY = timedelta(hours=1)
WOBBLE_SHARE = 0.002
"""Of the height, standard deviation: ripples and the gauge's own noise (an assumption)."""


class FieldGauges:
    """All gauges of a household. Vessels without a shape are read by nobody."""

    def __init__(self, settings: Settings, seed: int, start: datetime) -> None:
        self._gauges = [(tank, gauge) for tank in settings.tanks for gauge in tank.gauges if tank.shape is not None]
        self._rng = random.Random(f"{seed} gauges")
        self._due = start + EVERY
        self._low: set[str] = set()

    def texts(self, litres: Mapping[str, float], boxes: Mapping[str, FieldBox], at: datetime) -> Iterator[BoxText]:
        """What leaves now; `litres` by tank."""
        if at < self._due or not self._gauges:
            return
        self._due = at + EVERY
        for tank, gauge in self._gauges:
            said = boxes[gauge.controller].reads_level(gauge.input, self._reading(tank, gauge, litres[tank.id]), at)
            if said is not None:
                yield said

    def low(self, litres: Mapping[str, float]) -> Iterator[tuple[str, bool]]:
        """Each tank with a low limit of its gauge's own, and whether the water stands below it; it is over beyond the band."""
        for tank, gauge in self._gauges:
            if gauge.low_m and tank.shape is not None:
                limit = gauge.low_m + (gauge.band_m if tank.id in self._low else 0.0)
                (self._low.add if litres[tank.id] < below_l(tank.shape, limit) else self._low.discard)(tank.id)
                yield tank.id, tank.id in self._low

    def _reading(self, tank: Tank, gauge: Gauge, litres: float) -> float:
        assert tank.shape is not None
        brim = height_m(tank.shape)
        height = min(max(level_m(tank.shape, litres) + self._rng.gauss(0, WOBBLE_SHARE * brim), 0.0), brim)
        points = points_of(gauge, tank.shape)
        if points:
            pairs = sorted((level, reading) for reading, level in points)
            return along(pairs, height)
        return {"litres": litres, "cm": height * 100}.get(gauge.reads, height)
