"""Settings → the `water` command's figures, each with its inputs and source, as the contract's JSON has them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gateway.facts import Figure
from gateway.settings.models import Settings
from gateway.settings.water_tables import Pipe, RamPump, Tank
from gateway.water.demand import demand_figure, demand_l_day
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min, inflow_figure, wasted_figure
from gateway.water.pipe_flow import carries_air_m_s, passes_l_day
from gateway.water.volumes import below_l, capacity_l

HOURS_A_DAY = 24
FRICTION = "Darcy-Weisbach with Colebrook's factor, roughness 0.007 mm, 15 °C"
AIR = "sqrt(g D) (0.825 + 0.25 sqrt(sin slope)), after Wisner"
GEOMETRY = "plane and solid geometry of the configured shape"

NO_END = "it does not run out: more flows in than is used"
UNITS = (
    ("_litres_day", "l/day"), ("_l_day", "l/day"), ("_l_min", "l/min"), ("_mm", "mm"), ("_m", "m"), ("_l", "l"),
)  # fmt: skip
"""How a figure's inputs end, which have their units in their names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatWater:
    """One float and the water under it."""

    input: str | int
    means: str
    below: Figure | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankWater:
    """One tank's volumes; None without a shape."""

    id: str
    name: str
    capacity: Figure | None
    floats: tuple[FloatWater, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeWater:
    """One pipe: what it passes once it runs full, and the least speed that carries air out of it."""

    upper: str
    lower: str
    passes: Figure
    carries_air: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterReport:
    """Everything `water` shows. `why_not` says why a figure is missing, by its name."""

    tanks: tuple[TankWater, ...]
    demand: Figure
    inflow: Figure | None
    lasts: Figure | None
    lasts_if_supply_stops: Figure | None
    refill: Figure | None
    delivered: Figure | None
    wasted: Figure | None
    why_not: dict[str, str]
    pipes: tuple[PipeWater, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The contract's `water --json`."""
        pump = None
        if self.delivered is not None and self.wasted is not None:
            pump = {"delivered": self.delivered.as_json(), "wasted": self.wasted.as_json()}
        return {
            "tanks": [
                {
                    "id": tank.id,
                    "capacity": _json(tank.capacity),
                    "floats": [
                        {"input": float_water.input, "means": float_water.means, "below": _json(float_water.below)}
                        for float_water in tank.floats
                    ],
                }
                for tank in self.tanks
            ],
            "demand": self.demand.as_json(),
            "inflow": _json(self.inflow),
            "lasts": _json(self.lasts),
            "lasts_if_supply_stops": _json(self.lasts_if_supply_stops),
            "refill": _json(self.refill),
            "pump": pump,
            "pipes": [
                {
                    "from": pipe.upper,
                    "to": pipe.lower,
                    "passes": pipe.passes.as_json(),
                    "carries_air": pipe.carries_air.as_json(),
                }
                for pipe in self.pipes
            ],
        }

    def rows(self) -> list[tuple[str, str, str]]:
        """(what, how much, how it was got) for a table."""
        rows: list[tuple[str, str, str]] = []
        for tank in self.tanks:
            rows.append(_row(f"{tank.name} holds", tank.capacity, "no shape is configured"))
            rows.extend(
                _row(f"  below its {float_water.means} float", float_water.below, "no level_m is configured")
                for float_water in tank.floats
            )
        named = (
            ("used", self.demand),
            ("flows in", self.inflow),
            ("wasted by the ram", self.wasted),
            ("lasts, with supply", self.lasts),
            ("lasts, supply stopped", self.lasts_if_supply_stops),
            ("refill from empty", self.refill),
        )
        rows.extend(_row(name, figure, self.why_not.get(name, "not configured")) for name, figure in named)
        for pipe in self.pipes:
            rows.append(_row(f"pipe {pipe.upper} to {pipe.lower} passes", pipe.passes, ""))
            rows.append(_row("  carries air out from", pipe.carries_air, ""))
        return rows


def water_report(settings: Settings) -> WaterReport:
    """The figures of this household, from its configuration alone."""
    house = house_tank(settings)
    pump = settings.source.pump
    demand_day = demand_l_day(settings.demand)
    inflow_day = delivered_l_min(pump) * MINUTES_A_DAY if pump is not None else None
    below = _below_low(house)
    why: dict[str, str] = {}
    return WaterReport(
        tanks=tuple(_tank(tank) for tank in settings.tanks),
        demand=demand_figure(settings.demand),
        inflow=inflow_figure(pump),
        lasts=_lasts(below, demand_day, inflow_day, why),
        lasts_if_supply_stops=_lasts_stopped(below, demand_day, why),
        refill=_refill(house, demand_day, inflow_day, why),
        delivered=inflow_figure(pump),
        wasted=wasted_figure(pump) if isinstance(pump, RamPump) else _nothing_wasted(pump is not None),
        why_not=why,
        pipes=tuple(_pipe(pipe) for pipe in settings.pipes),
    )


def house_tank(settings: Settings) -> Tank | None:
    """The tank that feeds the house: the one that feeds no other."""
    feeding = {upstream for tank in settings.tanks for upstream in tank.fed_by}
    last = [tank for tank in settings.tanks if tank.id not in feeding]
    return last[-1] if last else None


def _tank(tank: Tank) -> TankWater:
    capacity = None
    if tank.shape is not None:
        dimensions = {key: value for key, value in tank.shape.model_dump().items() if value is not None}
        capacity = Figure(value=round(capacity_l(tank.shape), 3), unit="l", inputs=dimensions, source=GEOMETRY)
    floats = []
    for configured in tank.floats:
        below = None
        if tank.shape is not None and configured.level_m is not None:
            below = Figure(
                value=round(below_l(tank.shape, configured.level_m), 3),
                unit="l",
                inputs={"level_m": configured.level_m, "shape": tank.shape.kind},
                source=GEOMETRY,
            )
        floats.append(FloatWater(input=configured.input, means=configured.means, below=below))
    return TankWater(id=tank.id, name=tank.name, capacity=capacity, floats=tuple(floats))


def _pipe(pipe: Pipe) -> PipeWater:
    bore = {"inner_mm": pipe.inner_mm, "length_m": pipe.length_m, "fall_m": pipe.fall_m}
    slope = math.degrees(math.asin(min(pipe.fall_m / pipe.length_m, 1.0)))
    passes = Figure(value=round(passes_l_day(pipe) / MINUTES_A_DAY, 3), unit="l/min", inputs=bore, source=FRICTION)
    speed = round(carries_air_m_s(pipe.inner_mm / 1000, slope), 3)
    carries = Figure(
        value=speed, unit="m/s", inputs={"inner_mm": pipe.inner_mm, "slope_deg": round(slope, 2)}, source=AIR
    )
    return PipeWater(upper=pipe.upper, lower=pipe.lower, passes=passes, carries_air=carries)


def _below_low(house: Tank | None) -> float | None:
    if house is None or house.shape is None:
        return None
    lows = [
        configured.level_m
        for configured in house.floats
        if configured.means == "low" and configured.level_m is not None
    ]
    return below_l(house.shape, min(lows)) if lows else None


def _lasts(below: float | None, demand_day: float, inflow_day: float | None, why: dict[str, str]) -> Figure | None:
    if below is None:
        why["lasts, with supply"] = "the house tank needs a shape and a low float with level_m"
        return None
    if inflow_day is None:
        why["lasts, with supply"] = "no pump or flow is configured"
        return None
    if inflow_day >= demand_day:
        why["lasts, with supply"] = NO_END
        return None
    return Figure(
        value=round(below / (demand_day - inflow_day) * HOURS_A_DAY, 3),
        unit="h",
        inputs={"below_l": round(below, 3), "demand_l_day": demand_day, "inflow_l_day": round(inflow_day, 3)},
        source="water below the low float / (use - inflow)",
    )


def _lasts_stopped(below: float | None, demand_day: float, why: dict[str, str]) -> Figure | None:
    if below is None or demand_day <= 0:
        why["lasts, supply stopped"] = "the house tank needs a shape and a low float with level_m, the house a use"
        return None
    return Figure(
        value=round(below / demand_day * HOURS_A_DAY, 3),
        unit="h",
        inputs={"below_l": round(below, 3), "demand_l_day": demand_day},
        source="water below the low float / use",
    )


def _refill(house: Tank | None, demand_day: float, inflow_day: float | None, why: dict[str, str]) -> Figure | None:
    if house is None or house.shape is None or inflow_day is None or inflow_day <= 0:
        why["refill from empty"] = "the house tank needs a shape, the source a flow"
        return None
    net = inflow_day - demand_day if inflow_day > demand_day else inflow_day
    used = demand_day if inflow_day > demand_day else 0.0
    capacity = capacity_l(house.shape)
    return Figure(
        value=round(capacity / net * HOURS_A_DAY, 3),
        unit="h",
        inputs={"capacity_l": round(capacity, 3), "inflow_l_day": round(inflow_day, 3), "used_meanwhile_l_day": used},
        source="capacity / (inflow - use)"
        if used
        else "capacity / inflow, nothing used meanwhile (use exceeds inflow)",
    )


def _nothing_wasted(configured: bool) -> Figure | None:
    if not configured:
        return None
    return Figure(value=0.0, unit="l/min", inputs={}, source="only a ram wastes drive water")


def _json(figure: Figure | None) -> dict[str, Any] | None:
    return None if figure is None else figure.as_json()


def _input(key: str, value: object) -> str:
    """`below 1,413.7 l`, of `below_l`."""
    ending, unit = next(((ending, unit) for ending, unit in UNITS if key.endswith(ending)), ("", ""))
    number = f"{value:,.2f}".rstrip("0").rstrip(".") if isinstance(value, int | float) else str(value)
    return " ".join(word for word in (key.removesuffix(ending).replace("_", " "), number, unit) if word)


def _row(what: str, figure: Figure | None, why: str) -> tuple[str, str, str]:
    if figure is None:
        return (what, "no end" if why == NO_END else "unknown", why)
    inputs: Sequence[str] = [_input(key, value) for key, value in figure.inputs.items() if not isinstance(value, list)]
    return (what, f"{figure.value:,.1f} {figure.unit}", "; ".join([*inputs, figure.source]))
