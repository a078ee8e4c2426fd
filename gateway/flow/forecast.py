"""Events and the floats as they stand → what is left in a tank, for how long, and why. The bridge to the water room."""

from dataclasses import dataclass
from datetime import datetime

from gateway.facts import Cause, Event, Triple
from gateway.flow.house import House, Moment
from gateway.flow.look import Look
from gateway.ports import Reader


@dataclass(frozen=True, slots=True, kw_only=True)
class TankForecast:
    """What can be said of one tank."""

    litres: Triple | None = None
    dry_at: tuple[datetime, datetime, datetime] | None = None
    full_at: tuple[datetime, datetime, datetime] | None = None
    cause: Cause | None = None
    advice: str | None = None


def learn_from(moment: Moment, event: Event) -> None:
    """The event adds to what past events teach."""


def forecast_of(reader: Reader, house: House, tank: str, at: datetime) -> TankForecast | None:
    """One tank's forecast as of then."""
    return None


def forecasts(reader: Reader, house: House, seen: Look) -> dict[str, TankForecast]:
    """Every tank's forecast at the time of the look."""
    return {one.tank.id: TankForecast() for one in seen.tanks}
