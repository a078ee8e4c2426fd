"""What is remembered of a gauge between its texts, what it is held against, and how its level stands in an event."""

from typing import Any

from gateway.facts.states.controllers_and_tanks import GaugeMemory
from gateway.ports import Reader
from gateway.site import PlacedGauge, Site
from gateway.tanks import GaugeLimits
from gateway.water.demand import demand_l_day
from gateway.water.gauge_heights import range_of
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min
from gateway.water.volumes import below_l, capacity_l


def gauge_memory(reader: Reader, placed: PlacedGauge) -> GaugeMemory:
    """What is remembered of a gauge."""
    return reader.state(GaugeMemory, placed.key) or GaugeMemory()


def gauge_limits(site: Site, placed: PlacedGauge) -> GaugeLimits:
    """Its own limits, and what of its tank, the use and the supply is known."""
    gauge, shape = placed.gauge, placed.tank.shape
    use, pump = demand_l_day(site.settings.demand), site.settings.source.pump
    supply = delivered_l_min(pump) * MINUTES_A_DAY if pump is not None else 0.0
    return GaugeLimits(
        low_m=gauge.low_m,
        high_m=gauge.high_m,
        band_m=gauge.band_m,
        height_m=range_of(gauge, shape)[1],
        capacity_l=capacity_l(shape) if shape is not None else None,
        use_l_day=use,
        flow_l_day=use + supply,
    )


def level_detail(placed: PlacedGauge, memory: GaugeMemory) -> dict[str, Any]:
    """The height that counts and its litres, for an event's detail; nothing of a gauge at fault. A gauge that reads a little below 0 is at 0."""
    if memory.level_m is None or memory.at is None or memory.fault:
        return {}
    height, shape = max(memory.level_m, 0.0), placed.tank.shape
    litres = {} if shape is None else {"litres": round(below_l(shape, height), 1)}
    return {"level_m": round(height, 4), **litres, "level_at": memory.at.isoformat()}
