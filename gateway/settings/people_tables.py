"""The tables about the people: who is told of what, whose turn it is and when, and how the chain to them is tried."""

from datetime import timedelta
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from gateway.settings.any_table import AlarmPriority, Duration, OptionalDuration, Table


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


class Digest(Table):
    day: Annotated[
        Literal["off"] | Weekday,
        BeforeValidator(_in_small_letters),
    ] = "off"
    time: str = "18:00"
    contacts: tuple[str, ...] = ()


class Drill(Table):
    every: OptionalDuration = None
