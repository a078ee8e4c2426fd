"""What a controller's texts said of its battery → its charge, how it moves, the day it is low, how long it lasts from a power cut.

Looks; changes nothing. Charge is by the published table of rest voltage and chemistry, corrected for temperature where one was read
with it; it is only said where the battery is configured, for nobody knows an unknown one's chemistry.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.ports import Reader
from gateway.power.battery_capacity import lasts_from
from gateway.power.battery_charge import state_of_charge
from gateway.power.low_battery import believable, low_limit, nominal_v
from gateway.power.voltage_trend import LOOK_BACK_DAYS, BatteryTrend, battery_trend
from gateway.settings.models import Controller
from gateway.site import Site

FRESH = timedelta(days=2)
"""A voltage older than this says nothing of how full the battery is."""
SAME = timedelta(minutes=10)
"""Numbers of one occasion may come in two texts."""
STEADY_V_DAY = 0.005
"""A slope that would be shown as 0.00 V a day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryNow:
    """The newest believable voltage and when; `percent` of charge by it; `limit` volts at which it counts as low; the fortnight's trend."""

    volts: float
    at: datetime
    percent: float | None
    limit: float
    trend: BatteryTrend | None

    @property
    def low_on(self) -> datetime | None:
        """When it reaches the low limit as it goes now; None where it does not fall, or too little is known."""
        return self.trend.low_on if self.trend else None


def battery_now(reader: Reader, site: Site, controller: Controller, now: datetime) -> BatteryNow | None:
    """Its battery as it was known at that time, or None where no believable voltage was read for a fortnight."""
    events = reader.events(
        controller=controller.id, since=now - timedelta(days=LOOK_BACK_DAYS), until=now, known_by=now
    )
    readings = [
        (event.at, volts, _number(event, "celsius"))
        for event in events
        if (volts := _number(event, "volts")) is not None
    ]
    nominal = nominal_v(controller.power, [volts for _, volts, _ in readings])
    if nominal is None:
        return None
    believed = [(at, volts, celsius) for at, volts, celsius in readings if believable(volts, nominal)]
    if not believed:
        return None
    at, volts, celsius = believed[-1]
    if celsius is None:
        near = (other for when, _, other in reversed(readings) if other is not None and at - when <= SAME)
        celsius = next(near, None)
    battery = controller.power.battery if controller.power else None
    return BatteryNow(
        volts=volts,
        at=at,
        percent=state_of_charge(volts, nominal, battery.chemistry, celsius) if battery else None,
        limit=low_limit(controller.power),
        trend=battery_trend([(at, volts) for at, volts, _ in believed], controller.power, now),
    )


def lasts_h(reader: Reader, site: Site, controller: Controller, lost: Event) -> float | None:
    """Hours its battery should carry it from `power-lost` on, by its last voltage if that is fresh; None without a [controllers.power]."""
    if controller.power is None:
        return None
    before = battery_now(reader, site, controller, lost.at)
    volts = before.volts if before is not None and lost.at - before.at <= FRESH else None
    told = _number(lost, "volts")
    if told is not None and believable(told, controller.power.battery.volts):
        volts = told
    month = lost.at.astimezone(site.zone).month
    return lasts_from(
        controller.power, month, site.settings.site.latitude, volts=volts, celsius=_number(lost, "celsius")
    ).value


def battery_said(site: Site, battery: BatteryNow, now: datetime) -> str:
    """The same in a sentence or two, for a table or a page."""
    words = f"{battery.volts:g} V {site.phrases.format_time(battery.at, now, site.zone)}"
    if battery.percent is not None:
        words += f", about {battery.percent:.0f} % charged if it was at rest"
    if battery.trend is None:
        return f"{words}; too few days to see how it goes."
    slope = battery.trend.slope.value
    if abs(slope) < STEADY_V_DAY:
        words += "; steady"
    else:
        words += f"; its lowest of each day {'falls' if slope < 0 else 'rises'} {abs(slope):.2f} V a day"
    if battery.low_on is None:
        return f"{words}."
    if battery.low_on <= now:
        return f"{words}. It is at its low limit of {battery.limit:g} V."
    return f"{words}. As it goes it reaches its low limit of {battery.limit:g} V about {_day(site, battery.low_on)}."


def _day(site: Site, at: datetime) -> str:
    local = at.astimezone(site.zone)
    return f"{local.day} {site.phrases.month_name(local.month)}"


def _number(event: Event, name: str) -> float | None:
    value = event.detail.get(name)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
