"""The tables about the water: tanks with their shapes, floats and gauges, what feeds them, the pipes between, what is drawn, and the taps."""

from datetime import timedelta
from typing import Annotated, Literal

from pydantic import Field

from gateway.settings.any_table import AlarmPriority, Duration, Table


class UprightCylinder(Table):
    kind: Literal["upright-cylinder"]
    diameter_m: float = Field(gt=0)
    height_m: float = Field(gt=0)


class LyingCylinder(Table):
    kind: Literal["lying-cylinder"]
    diameter_m: float = Field(gt=0)
    length_m: float = Field(gt=0)


class Box(Table):
    kind: Literal["box"]
    length_m: float = Field(gt=0)
    width_m: float = Field(gt=0)
    height_m: float = Field(gt=0)


class Tapered(Table):
    kind: Literal["tapered"]
    bottom_diameter_m: float = Field(gt=0)
    top_diameter_m: float = Field(gt=0)
    height_m: float = Field(gt=0)


class Litres(Table):
    kind: Literal["litres"]
    litres: float = Field(gt=0)
    height_m: float = Field(gt=0)


class VolumeTable(Table):
    kind: Literal["table"]
    points: tuple[tuple[float, float], ...]


Shape = Annotated[UprightCylinder | LyingCylinder | Box | Tapered | Litres | VolumeTable, Field(discriminator="kind")]


class Float(Table):
    controller: str
    input: int | str
    means: Literal["low", "high"] = "low"
    level_m: float | None = None
    settle: Duration = timedelta(0)
    over: Literal["", "heard", "reckoned", "said"] = ""
    priority: AlarmPriority = ""


GaugeUnit = Literal["percent", "m", "cm", "mA", "litres"]
"""What a gauge's number is."""


class Gauge(Table):
    """`points`: pairs of reading and height in m; a `low_m` or `high_m` of 0: never."""

    controller: str
    input: int | str
    reads: GaugeUnit = "percent"
    points: tuple[tuple[float, float], ...] = ()
    low_m: float = Field(default=0, ge=0)
    high_m: float = Field(default=0, ge=0)
    band_m: float = Field(default=0.05, ge=0)


class Tank(Table):
    id: str
    name: str
    shape: Shape | None = None
    fed_by: tuple[str, ...] = ()
    floats: tuple[Float, ...] = ()
    gauges: tuple[Gauge, ...] = ()


class RamPump(Table):
    kind: Literal["ram"]
    drive_flow_l_min: float = Field(gt=0)
    fall_m: float = Field(gt=0)
    lift_m: float = Field(gt=0)
    efficiency: float | None = Field(default=None, gt=0, le=1)


class SteadySource(Table):
    kind: Literal["steady"]
    flow_l_min: float = Field(gt=0)


Pump = Annotated[RamPump | SteadySource, Field(discriminator="kind")]


class Pipe(Table):
    """A pipe between two tanks, or from the source: what it can pass follows from it."""

    upper: str = Field(alias="from")
    lower: str = Field(alias="to")
    inner_mm: float = Field(gt=0, le=1000)
    length_m: float = Field(gt=0)
    fall_m: float = Field(gt=0)


class Source(Table):
    pump: Pump | None = None


class Animals(Table):
    kind: str
    head: int = Field(ge=0)
    litres_per_head_day: float | None = Field(default=None, ge=0)


class Demand(Table):
    people: float = Field(default=0, ge=0)
    litres_per_person_day: float = Field(default=120, ge=0)
    animals: tuple[Animals, ...] = ()
    other_litres_day: float = Field(default=0, ge=0)
    warm_celsius: float | None = None


class Bleed(Table):
    taps: tuple[str, ...] = ()
