"""A controller's volts of twelve months and its outlook → how its battery goes, and whether sun and use are as they were worked out.

Only the lowest of each day counts for the battery: the panel lifts the rest.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from gateway.page import ChartView, Mark, TableView
from gateway.page.axes import LEAST_DRAWN, Times, lacking, linear_levels, nice_top
from gateway.page.days import MONTHS, short_day
from gateway.page.ids import box_id
from gateway.ports import DayOfNumbers, Reader
from gateway.power.outlook import MonthOutlook, PowerOutlook, power_outlook
from gateway.power.said import verdict
from gateway.power.watch import BELIEVED, USUAL_V, low_limit
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.battery import BatteryNow, battery_now, battery_said

WEEK_DAYS = 7
THIRD_WEEK = "the third week of volts"
NOON = timedelta(hours=12)
"""Days are counted from the first midnight on, so that one that begins an hour early under another offset is known by its noon."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """A stretch of days together. `low`: the lowest; `middle`: of each day's lowest the middle one."""

    start: datetime
    days: int
    low: float
    middle: float
    high: float
    low_days: int


def read_volts(reader: Reader, controller: Controller, times: Times, now: datetime) -> tuple[DayOfNumbers, ...]:
    """The believable volts of twelve months, day by day."""
    nominal = controller.power.battery.volts if controller.power else USUAL_V
    within = (BELIEVED[0] * nominal, BELIEVED[1] * nominal)
    return reader.numbers_by_day("volts", controller.id, times.starts[0], now, within=within)


def volts_chart(
    reader: Reader, site: Site, controller: Controller, read: Sequence[DayOfNumbers], times: Times, now: datetime
) -> ChartView | None:
    """Volts week by week against the low limit; None where none were read."""
    if not read:
        return None
    limit = low_limit(controller.power)
    weeks = _grouped(read, limit, lambda one: (one.day - times.starts[0]).days // WEEK_DAYS)
    bottom, top = min(limit, *(one.low for one in weeks)), max(limit, *(one.high for one in weeks))
    room = 0.08 * (top - bottom + 0.5)
    bottom, top = bottom - room, top + room

    def share(volts: float) -> float:
        return (volts - bottom) / (top - bottom)

    found = battery_now(reader, site, controller, now)
    worse = found is not None and found.low_on is not None
    said = _volts_said(site, found, sum(one.low_days for one in weeks), now)
    middle = median(one.middle for one in weeks)
    marked = (limit, middle, top) if share(middle) - share(limit) > 0.12 and share(middle) < 0.88 else (limit, top)
    return ChartView(
        id=f"{box_id(controller.id)}-volts",
        title="Volts",
        desc=f"A bar for each week, from the lowest to the highest voltage of {controller.name}; the low limit is dashed.",
        verdict=said,
        levels=tuple((f"{volts:.1f} V", share(volts)) for volts in marked),
        times=times.marks,
        marks=(
            *_week_bars(weeks, limit, times, share),
            Mark(shape="line", tone="limit", x=0, width=1, top=share(limit)),
        ),
        table=_volts_table(read, limit, times),
        legend=(("water", "lowest to highest of a week"), ("low", "went to its limit"), ("limit", "low limit")),
        worse=worse,
        lacking=lacking(said, _third_week(site, weeks, now)) if len(weeks) < LEAST_DRAWN and not worse else "",
    )


def _third_week(site: Site, weeks: Sequence[Bars], now: datetime) -> str:
    """Its day, if the texts go on; where they stopped nobody knows."""
    third = weeks[-1].start + timedelta(days=WEEK_DAYS * (LEAST_DRAWN - len(weeks)))
    return short_day(site, third) if third > now else THIRD_WEEK


def _week_bars(weeks: Sequence[Bars], limit: float, times: Times, share: Callable[[float], float]) -> tuple[Mark, ...]:
    width = timedelta(days=WEEK_DAYS) * 0.7 / (times.end - times.starts[0])
    return tuple(
        Mark(
            shape="bar",
            tone="low" if one.low <= limit else "water",
            x=times.share(one.start),
            width=width,
            bottom=share(one.low),
            top=share(one.high),
        )
        for one in weeks
    )


def _volts_said(site: Site, found: BatteryNow | None, low_days: int, now: datetime) -> str:
    said = battery_said(site, found, now) if found else "No believable voltage was read these two weeks."
    days = f"{low_days} {'day' if low_days == 1 else 'days'}"
    return f"{said} On {days} of these twelve months it was at or under its low limit." if low_days else said


def sun_chart(site: Site, controller: Controller, read: Sequence[DayOfNumbers], times: Times) -> ChartView | None:
    """Charge and use by month as worked out, against what the battery's voltage showed in each."""
    if controller.power is None:
        return None
    outlook = power_outlook(controller.id, controller.power, site.settings.site.latitude)
    limit = low_limit(controller.power)
    seen = {
        (one.start + NOON).astimezone(site.zone).month: one
        for one in _grouped(read, limit, lambda day: times.month_of(day.day + NOON))
    }
    top = nice_top(max(max(one.charge.value, one.use.value) for one in outlook.months))
    marks: list[Mark] = []
    for at, one in enumerate(outlook.months):
        marks += _month_marks(at, one, seen.get(one.month), top)
    return ChartView(
        id=f"{box_id(controller.id)}-sun",
        title="Sun and use through the year",
        desc="For each month a bar for the charge a day that the sun should give and a line for what is used; a cross above where the "
        "battery was seen low in it, a tick where it was seen well. The table has the figures.",
        verdict=f"{verdict(outlook, site.phrases.month_name)} {_against(outlook, seen)}".strip(),
        levels=linear_levels(top, "Ah"),
        times=tuple((MONTHS[one.month - 1], (at + 0.5) / 12) for at, one in enumerate(outlook.months) if at % 2 == 0),
        marks=tuple(marks),
        table=TableView(
            head=("month", "sun on the panel", "charge", "use", "holds without sun", "lowest seen", "days low seen"),
            rows=tuple(_sun_row(site, one, seen.get(one.month)) for one in outlook.months),
        ),
        legend=(
            ("water", "charge a day, covers the use"),
            ("low", "charge a day, does not"),
            ("ink", "use a day"),
            *((("none", "✕ battery seen low in that month, ✓ seen well"),) if seen else ()),
        ),
        worse=not outlook.carries,
    )


def _month_marks(at: int, one: MonthOutlook, seen: Bars | None, top: float) -> list[Mark]:
    short = one.charge.value < one.use.value
    marks = [
        Mark(
            shape="bar", tone="low" if short else "water", x=(at + 0.2) / 12, width=0.6 / 12, top=one.charge.value / top
        ),
        Mark(shape="line", tone="ink", x=(at + 0.05) / 12, width=0.9 / 12, top=one.use.value / top),
    ]
    if seen is not None:
        low = seen.low_days > 0
        marks.append(
            Mark(shape="word", tone="low" if low else "ink", x=(at + 0.5) / 12, top=1.0, said="✕" if low else "✓")
        )
    return marks


def _against(outlook: PowerOutlook, seen: dict[int, Bars]) -> str:
    """Whether what was seen fits."""
    if not seen:
        return "No voltage was read to hold against it."
    low = {month for month, one in seen.items() if one.low_days}
    short = set(outlook.short_months())
    if not low:
        return f"Seen in {len(seen)} {'month' if len(seen) == 1 else 'months'}: the battery never was low."
    names = ", ".join(MONTHS[month - 1] for month in sorted(low))
    if low <= short:
        return f"Seen low in {names}, as it was worked out."
    return f"Seen low in {names}, which the sun does not explain: look at panel, battery and load."


def _sun_row(site: Site, one: MonthOutlook, seen: Bars | None) -> tuple[str, ...]:
    return (
        site.phrases.month_name(one.month),
        f"{one.sun.value:.1f} kWh/m² a day",
        f"{one.charge.value:.2f} Ah a day",
        f"{one.use.value:.2f} Ah a day",
        f"{one.days_without_sun.value:.0f} days",
        f"{seen.low:.1f} V" if seen else "not read",
        f"{seen.low_days} of {seen.days}" if seen else "",
    )


def _volts_table(read: Sequence[DayOfNumbers], limit: float, times: Times) -> TableView:
    months = _grouped(read, limit, lambda one: times.month_of(one.day + NOON))
    return TableView(
        head=("month", "lowest", "middle of each day's lowest", "highest", "days at the limit"),
        rows=tuple(
            (
                times.names[times.month_of(one.start + NOON)],
                f"{one.low:.1f} V",
                f"{one.middle:.1f} V",
                f"{one.high:.1f} V",
                f"{one.low_days} of {one.days}",
            )
            for one in months
        ),
    )


def _grouped(read: Sequence[DayOfNumbers], limit: float, group_of: Callable[[DayOfNumbers], int]) -> list[Bars]:
    groups: dict[int, list[DayOfNumbers]] = {}
    for one in read:
        groups.setdefault(group_of(one), []).append(one)
    return [
        Bars(
            start=days[0].day,
            days=len(days),
            low=min(one.low for one in days),
            middle=median(one.low for one in days),
            high=max(one.high for one in days),
            low_days=sum(1 for one in days if one.low <= limit),
        )
        for _, days in sorted(groups.items())
    ]
