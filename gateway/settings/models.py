"""The TOML file as frozen pydantic models: attributes are the contract's keys; durations are timedelta, numbers E.164.

Unknown keys are refused (`extra="forbid"`). What needs two tables to judge (ids that exist, loops, claimed inputs) is
in `gateway.settings.cross_checks`; where a mistake stands in the file is found by `gateway.settings.key_lines`.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    PrivateAttr,
    ValidationInfo,
    field_validator,
)

from gateway.settings.durations import duration_or_off, format_setting, parse_duration, silence_limit

LARGEST_FIGURE = 1e9
"""No figure of a household is larger; beyond it what is reckoned from several would have no end."""
NAME_OF_DIGITS = "input"
"""The key whose number is a name, not a figure."""


class Table(BaseModel):
    """Any table of the file."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False, defer_build=True, allow_inf_nan=False)

    @field_validator("*")
    @classmethod
    def _refuse_endless_figures(cls, value: Any, info: ValidationInfo) -> Any:
        if info.field_name != NAME_OF_DIGITS and any(abs(figure) > LARGEST_FIGURE for figure in _figures_in(value)):
            raise ValueError(f"expected a figure of at most {LARGEST_FIGURE:,.0f}")
        return value


def _figures_in(value: object) -> Iterator[float]:
    if isinstance(value, int | float):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _figures_in(item)


_AsWritten = PlainSerializer(format_setting, return_type=str, when_used="json")
Duration = Annotated[timedelta, BeforeValidator(parse_duration), _AsWritten]
OptionalDuration = Annotated[timedelta | None, BeforeValidator(duration_or_off), _AsWritten]
"""`""` and `"off"` are None."""
SilenceLimit = Annotated[timedelta | Literal["auto"] | None, BeforeValidator(silence_limit), _AsWritten]


class Site(Table):
    name: str
    timezone: str
    country: str
    latitude: float | None = Field(default=None, ge=-90, le=90)
    language: str = "en"
    phrases: str = ""
    notes: str = ""


class ModemTable(Table):
    device: str
    baud: int = Field(default=115200, gt=0)
    pin_file: str = ""
    delivery_reports: bool = True
    sweep_every: Duration = timedelta(seconds=60)
    number: str = ""


class StoreTable(Table):
    url: str = "sqlite:////var/lib/tank-gateway/gateway.db"
    backup_folder: str = ""


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


AlarmPriority = Literal["", "urgent", "soon", "record"]
"""How urgent an alarm is; `""`: as its kind has it."""


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


class Input(Table):
    """An input that is no tank's: a lid, a door, a pump that stops."""

    controller: str
    input: int | str
    name: str
    active_says: str
    idle_says: str
    advice: str = ""
    priority: Literal["urgent", "soon", "record"] = "soon"


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


class Contact(Table):
    id: str
    name: str
    number: str
    line: Literal["mobile", "landline"] = "mobile"
    about: tuple[Literal["tanks", "controllers", "gateway"], ...] = ("tanks", "controllers", "gateway")
    turn: int = Field(default=1, ge=1)
    quiet: str = ""
    may_ask: bool = True


def _in_small_letters(value: object) -> object:
    return value.strip().casefold() if isinstance(value, str) else value


Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class Watch(Table):
    """Who is called first on these days (none: on all), between two local times; an end that is not later than the beginning is the next
    day's."""

    contact: str
    days: tuple[Annotated[Weekday, BeforeValidator(_in_small_letters)], ...] = ()
    begins: str = Field(default="00:00", alias="from")
    until: str = "24:00"


class CallOut(Table):
    take_within: Duration = timedelta(0)
    remind_every: Duration = timedelta(0)
    taken_for: Duration = timedelta(hours=8)
    warn_before_dry: Duration = timedelta(hours=3)
    urgent_within: Duration = timedelta(hours=12)
    again_after: Duration = timedelta(hours=6)
    urgent: tuple[str, ...] = ()
    delivered_within: Duration = timedelta(minutes=10)


class AlarmKind(Table):
    priority: AlarmPriority = ""


class Bleed(Table):
    taps: tuple[str, ...] = ()


class Limits(Table):
    texts_per_day: int = Field(default=100, ge=0)
    segments: int = Field(default=1, ge=1, le=10)
    a_day_each: int = Field(default=12, ge=1)
    burst: int = Field(default=10, ge=1)
    chatter: bool = True
    price_per_segment: float = Field(default=0.0, ge=0)
    currency: str = "EUR"
    unknown_senders: Literal["keep", "forward"] = "keep"


class Digest(Table):
    day: Annotated[
        Literal["off"] | Weekday,
        BeforeValidator(_in_small_letters),
    ] = "off"
    time: str = "18:00"
    contacts: tuple[str, ...] = ()


class Balance(Table):
    ussd: str = ""
    pattern: str = ""
    every: Duration = timedelta(days=7)
    low: float | None = None


class Drill(Table):
    every: OptionalDuration = None


class Sim(Table):
    """A card that the chain hangs on."""

    id: str
    name: str
    expires: Annotated[date | None, BeforeValidator(lambda value: None if value == "" else value)] = None
    use_every: OptionalDuration = None


class Page(Table):
    folder: str = ""


class Mqtt(Table):
    url: str = ""
    user: str = ""
    password_file: str = ""
    ca_file: str = ""
    topic: str = "tanks"


class Metrics(Table):
    file: str = ""


class Settings(Table):
    """The whole file, checked."""

    _file_text: str = PrivateAttr(default="")
    site: Site
    phrases: str = ""
    modem: ModemTable
    store: StoreTable = StoreTable()
    controllers: tuple[Controller, ...] = ()
    tanks: tuple[Tank, ...] = ()
    inputs: tuple[Input, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    source: Source = Source()
    demand: Demand = Demand()
    contacts: tuple[Contact, ...] = ()
    watch: tuple[Watch, ...] = ()
    call_out: CallOut = CallOut()
    alarms: dict[str, AlarmKind] = Field(default_factory=dict)
    bleed: Bleed = Bleed()
    drill: Drill = Drill()
    sims: tuple[Sim, ...] = ()
    limits: Limits = Limits()
    digest: Digest = Digest()
    balance: Balance = Balance()
    page: Page = Page()
    metrics: Metrics = Metrics()
    mqtt: Mqtt = Mqtt()

    @property
    def file_text(self) -> str:
        """The file as it stands; empty for settings that come from none."""
        return self._file_text

    def of_file(self, text: str) -> "Settings":
        """The same, which knows the text it was read from."""
        copy = self.model_copy()
        copy._file_text = text
        return copy
