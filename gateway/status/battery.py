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
from gateway.power.battery_spent import FLAT_PERCENT, HALF_PERCENT, Spent, spent_in
from gateway.power.low_battery import believable, low_limit, nominal_v
from gateway.power.voltage_trend import LOOK_BACK_DAYS, BatteryTrend, battery_trend
from gateway.settings.controller_tables import Controller
from gateway.site import Site

DAY = timedelta(days=1)
FRESH = timedelta(days=2)
"""A voltage older than this says nothing of how full the battery is."""
SAME = timedelta(minutes=10)
"""Numbers of one occasion may come in two texts."""
STEADY_V_DAY = 0.005
"""A slope that would be shown as 0.00 V a day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryNow:
    """The newest believable voltage and when; `percent` of charge by it; `limit` volts at which it counts as low; the fortnight's trend.

    `spent`: the days until it is half empty (or flat, where it is), by the lowest voltage of its last day, for the panel lifts the others;
    None where nobody knows what battery it is, or how full it is now.
    """

    volts: float
    at: datetime
    percent: float | None
    limit: float
    trend: BatteryTrend | None
    spent: Spent | None = None

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
        # a text of two rules gives two events, so that its temperature is not where its voltage is
        near = (_number(event, "celsius") for event in reversed(events) if abs(at - event.at) <= SAME)
        celsius = next((read for read in near if read is not None), None)
    battery = controller.power.battery if controller.power else None
    lowest = min(volts for when, volts, _ in believed if at - when <= DAY)
    return BatteryNow(
        volts=volts,
        at=at,
        percent=state_of_charge(volts, nominal, battery.chemistry, celsius) if battery else None,
        limit=low_limit(controller.power),
        trend=battery_trend([(at, volts) for at, volts, _ in believed], controller.power, now),
        spent=_spent(site, controller, now, volts=lowest, celsius=celsius) if now - at <= FRESH else None,
    )


def _spent(site: Site, controller: Controller, now: datetime, *, volts: float, celsius: float | None) -> Spent | None:
    power = controller.power
    if power is None:
        return None
    percent = state_of_charge(volts, power.battery.volts, power.battery.chemistry, celsius)
    down_to = HALF_PERCENT if percent > HALF_PERCENT else FLAT_PERCENT
    month = now.astimezone(site.zone).month
    return spent_in(power, site.settings.site.latitude, month, percent, down_to=down_to)


def flat_in(site: Site, low: Event) -> Spent | None:
    """How long a battery that was told to be low holds, by what was read then; None where nobody knows what battery it is."""
    controller = site.controllers.get(low.controller) if low.controller else None
    power = controller.power if controller else None
    volts, percent = _number(low, "volts"), _number(low, "percent")
    if power is None or (volts is None and percent is None):
        return None
    if volts is not None:
        percent = state_of_charge(volts, power.battery.volts, power.battery.chemistry, _number(low, "celsius"))
    month = low.at.astimezone(site.zone).month
    return spent_in(power, site.settings.site.latitude, month, percent or 0.0, down_to=FLAT_PERCENT)


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
    return f"{_volts_said(site, battery, now)}{_spent_said(site, battery, now)}"


def _spent_said(site: Site, battery: BatteryNow, now: datetime) -> str:
    if battery.percent is None:
        return ""
    if battery.spent is None:
        return " How full it is now is unknown: its last voltage is older than two days."
    spent, month = battery.spent, site.phrases.month_name(now.astimezone(site.zone).month)
    a_day = f"{spent.charge_ah_day:.2g} Ah a day in, {spent.use_ah_day:.2g} out"
    where = "" if spent.down_to == HALF_PERCENT else " It is more than half empty."
    if spent.whole_days is None:
        return f"{where} In {month} the sun should cover what it uses ({a_day})."
    goal = "half empty" if spent.down_to == HALF_PERCENT else "flat"
    when = "within a day" if spent.whole_days < 1 else f"in {spent.whole_days} day{'s' if spent.whole_days > 1 else ''}"
    return f"{where} As {month} goes ({a_day}) a worn one is {goal} {when}."


def _volts_said(site: Site, battery: BatteryNow, now: datetime) -> str:
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
