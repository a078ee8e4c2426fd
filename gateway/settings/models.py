"""The TOML file as frozen pydantic models: attributes are the contract's keys; durations are timedelta, numbers E.164.

Here the whole file, and the tables about the gateway itself; those about controllers, water and people stand in files of their own.
Unknown keys are refused (`extra="forbid"`). What needs two tables to judge (ids that exist, loops, claimed inputs) is
in `gateway.settings.cross_checks`; where a mistake stands in the file is found by `gateway.settings.key_lines`.
"""

from datetime import date, timedelta
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, PrivateAttr

from gateway.settings.any_table import Duration, OptionalDuration, Table
from gateway.settings.controller_tables import Controller, Input
from gateway.settings.people_tables import AlarmKind, CallOut, Contact, Digest, Drill, Watch
from gateway.settings.water_tables import Bleed, Demand, Pipe, Source, Tank


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


class Limits(Table):
    texts_per_day: int = Field(default=100, ge=0)
    segments: int = Field(default=1, ge=1, le=10)
    a_day_each: int = Field(default=12, ge=1)
    burst: int = Field(default=10, ge=1)
    chatter: bool = True
    price_per_segment: float = Field(default=0.0, ge=0)
    currency: str = "EUR"
    unknown_senders: Literal["keep", "forward"] = "keep"


class Balance(Table):
    ussd: str = ""
    pattern: str = ""
    every: Duration = timedelta(days=7)
    low: float | None = None


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
