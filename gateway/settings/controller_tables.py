"""The tables about a controller: how its texts are read, what it is asked, its errands, its power, and its inputs that are no tank's."""

from datetime import timedelta
from typing import Literal

from pydantic import Field

from gateway.settings.any_table import Duration, OptionalDuration, SilenceLimit, Table


class Ask(Table):
    text: str = ""
    text_file: str = ""
    every: OptionalDuration = None
    before_silence: Duration = timedelta(hours=1)


class RuleTable(Table):
    text: str | None = None
    regex: str | None = None
    means: Literal["input", "alive", "power-lost", "power-back", "reading", "level", "ignore"]
    active: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    scope: Literal["whole", "anywhere"] = "whole"
    enough: bool = True
    input: int | str | None = None
    state: Literal["active", "idle"] | None = None
    of: Literal["", "battery", "box", "air", "water"] = ""
    name: str = ""
    low: float | None = None
    high: float | None = None


class Errand(Table):
    id: str
    text: str = ""
    text_file: str = ""
    answer: str = ""
    within: Duration = timedelta(minutes=5)
    tries: int = Field(default=1, ge=1, le=10)
    risk: Literal["looks", "sets", "switches"] = "looks"
    may: tuple[str, ...] = ()
    longest: Duration = timedelta(0)
    stop_text: str = ""


class Battery(Table):
    capacity_ah: float = Field(gt=0)
    volts: float = Field(default=12, gt=0)
    chemistry: str = "lead-acid"
    low_volts: float | None = None


class Panel(Table):
    watts: float = Field(gt=0)
    tilt_deg: float = Field(default=45, ge=0, le=90)
    facing_deg: float = Field(default=0, ge=-180, le=360)
    horizon_deg: float = Field(default=0, ge=0, lt=90)


class Load(Table):
    standby_ma: float = Field(gt=0)
    text_ma: float = Field(default=300, ge=0)
    texts_per_day: float = Field(default=4, ge=0)


class Power(Table):
    battery: Battery
    panel: Panel | None = None
    load: Load
    monthly_kwh_m2_day: tuple[float, ...] = ()
    monthly_celsius: tuple[float, ...] = ()


class Controller(Table):
    id: str
    name: str
    number: tuple[str, ...]
    silence_after: SilenceLimit = timedelta(hours=26)
    ask: Ask = Ask()
    rules: tuple[RuleTable, ...] = ()
    errands: tuple[Errand, ...] = ()
    power: Power | None = None


class Input(Table):
    """An input that is no tank's: a lid, a door, a pump that stops."""

    controller: str
    input: int | str
    name: str
    active_says: str
    idle_says: str
    advice: str = ""
    priority: Literal["urgent", "soon", "record"] = "soon"
