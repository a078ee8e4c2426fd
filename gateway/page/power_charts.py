"""A controller's volts of twelve months and its outlook → how its battery goes, and whether sun and use are as they were worked out.

Only the lowest of each day counts for the battery: the panel lifts the rest.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from gateway.page.cards import controller_anchor
from gateway.page.chart_scales import MonthScale, amount_levels, round_top
from gateway.page.charts import LEAST_DRAWN, Chart, Mark, Table, lacking, table_head
from gateway.page.local_calendar import month_label, short_day
from gateway.page.power_words import battery_words, sun_words, volts_words
from gateway.ports import DayOfNumbers, Reader
from gateway.power.low_battery import BELIEVED, USUAL_V, low_limit
from gateway.power.monthly_outlook import MonthOutlook, PowerOutlook, power_outlook
from gateway.settings.controller_tables import Controller
from gateway.site import Site
from gateway.status.battery import BatteryNow, battery_now

WEEK_DAYS = 7
NOON = timedelta(hours=12)
"""Days are counted from the first midnight on, so that one that begins an hour early under another offset is known by its noon."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltsOfDays:
    """A week's or a month's days together. `low`: the lowest; `middle`: of each day's lowest the middle one; `low_days`: at the limit."""

    start: datetime
    days: int
    low: float
    middle: float
    high: float
    low_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltsScale:
    """Volts from a little below the lowest (or the limit) to a little above the highest."""

    bottom: float
    top: float

    def share(self, volts: float) -> float:
        """Where so many volts stand."""
        return (volts - self.bottom) / (self.top - self.bottom)


def volts_of_year(
    reader: Reader, controller: Controller, months: MonthScale, now: datetime
) -> tuple[DayOfNumbers, ...]:
    """The believable volts of twelve months, day by day."""
    nominal = controller.power.battery.volts if controller.power else USUAL_V
    within = (BELIEVED[0] * nominal, BELIEVED[1] * nominal)
    return reader.numbers_by_day("volts", controller.id, months.starts[0], now, within=within)


def volts_chart(
    reader: Reader, site: Site, controller: Controller, volts: Sequence[DayOfNumbers], months: MonthScale, now: datetime
) -> Chart | None:
    """Volts week by week against the low limit; None where none were read."""
    if not volts:
        return None
    limit, words = low_limit(controller.power), site.phrases.page_table("volts")
    weeks = _together(volts, limit, lambda day: (day.day - months.starts[0]).days // WEEK_DAYS)
    scale = _volts_scale(weeks, limit)
    battery = battery_now(reader, site, controller, now)
    worse = battery is not None and battery.low_on is not None
    sentences = _volts_verdict(site, battery, sum(week.low_days for week in weeks), now)
    # A battery that is going flat is drawn however little there is of it.
    too_few = len(weeks) < LEAST_DRAWN and not worse
    return Chart(
        id=f"{controller_anchor(controller.id)}-volts",
        title=words["title"],
        desc=site.phrases.page("volts.desc", box=controller.name),
        verdict=sentences,
        levels=_volts_levels(site, scale, weeks, limit),
        times=months.labels,
        marks=(
            *_week_bars(weeks, limit, months, scale),
            Mark(shape="line", tone="limit", x=0, width=1, top=scale.share(limit)),
        ),
        table=_volts_table(site, volts, limit, months),
        legend=(("water", words["week"]), ("low", words["at-limit"]), ("limit", words["limit"])),
        worse=worse,
        lacking=_lacking(site, sentences, weeks, now) if too_few else "",
    )


def sun_chart(site: Site, controller: Controller, volts: Sequence[DayOfNumbers], months: MonthScale) -> Chart | None:
    """Charge and use by month as worked out, against what the battery's voltage showed in each; None without a [controllers.power]."""
    if controller.power is None:
        return None
    outlook = power_outlook(controller.id, controller.power, site.settings.site.latitude)
    together = _together(volts, low_limit(controller.power), lambda day: months.month_of(day.day + NOON))
    by_month = {(stretch.start + NOON).astimezone(site.zone).month: stretch for stretch in together}
    words = site.phrases.page_table("sun")
    top = round_top(max(max(month.charge.value, month.use.value) for month in outlook.months))
    rows = [(month, by_month.get(month.month)) for month in outlook.months]
    return Chart(
        id=f"{controller_anchor(controller.id)}-sun",
        title=words["title"],
        desc=words["desc"],
        verdict=f"{sun_words(site, outlook)} {_sun_against_volts(site, outlook, by_month)}".strip(),
        levels=amount_levels(top, "Ah"),
        times=tuple((month_label(site, month.month), (at + 0.5) / 12) for at, month in enumerate(outlook.months))[::2],
        marks=tuple(mark for at, row in enumerate(rows) for mark in _month_marks(at, *row, top)),
        table=_sun_table(site, rows),
        legend=(
            ("water", words["covers"]),
            ("low", words["not-covers"]),
            ("ink", words["use"]),
            *((("none", words["seen"]),) if by_month else ()),
        ),
        worse=not outlook.carries,
    )


def _together(
    volts: Sequence[DayOfNumbers], limit: float, group_of: Callable[[DayOfNumbers], int]
) -> list[VoltsOfDays]:
    groups: dict[int, list[DayOfNumbers]] = {}
    for day in volts:
        groups.setdefault(group_of(day), []).append(day)
    return [
        VoltsOfDays(
            start=days[0].day,
            days=len(days),
            low=min(day.low for day in days),
            middle=median(day.low for day in days),
            high=max(day.high for day in days),
            low_days=sum(1 for day in days if day.low <= limit),
        )
        for _, days in sorted(groups.items())
    ]


def _volts_scale(weeks: Sequence[VoltsOfDays], limit: float) -> VoltsScale:
    bottom, top = min(limit, *(week.low for week in weeks)), max(limit, *(week.high for week in weeks))
    room = 0.08 * (top - bottom + 0.5)  # a battery that never moves still has a scale
    return VoltsScale(bottom=bottom - room, top=top + room)


def _volts_levels(
    site: Site, scale: VoltsScale, weeks: Sequence[VoltsOfDays], limit: float
) -> tuple[tuple[str, float], ...]:
    """The limit and the top, and between them the middle where its label has room."""
    middle = median(week.middle for week in weeks)
    has_room = scale.share(middle) - scale.share(limit) > 0.12 and scale.share(middle) < 0.88
    labelled = (limit, middle, scale.top) if has_room else (limit, scale.top)
    return tuple((_volts(site, volts), scale.share(volts)) for volts in labelled)


def _volts(site: Site, volts: float) -> str:
    return site.phrases.format_volts(round(volts, 1))


def _volts_verdict(site: Site, battery: BatteryNow | None, low_days: int, now: datetime) -> str:
    sentences = site.phrases.page("volts.none-lately")
    if battery is not None:
        sentences = f"{volts_words(site, battery, now)} {battery_words(site, battery, now)}"
    return f"{sentences} {site.phrases.page('volts.low-days', days=low_days)}" if low_days else sentences


def _lacking(site: Site, known: str, weeks: Sequence[VoltsOfDays], now: datetime) -> str:
    """With the day of the third week, if the texts go on; where they stopped nobody knows."""
    third = weeks[-1].start + timedelta(days=WEEK_DAYS * (LEAST_DRAWN - len(weeks)))
    return lacking(site, known, "day" if third > now else "third-week", day=short_day(site, third))


def _week_bars(weeks: Sequence[VoltsOfDays], limit: float, months: MonthScale, scale: VoltsScale) -> tuple[Mark, ...]:
    width = timedelta(days=WEEK_DAYS) * 0.7 / (months.end - months.starts[0])
    return tuple(
        Mark(
            shape="bar",
            tone="low" if week.low <= limit else "water",
            x=months.share(week.start),
            width=width,
            bottom=scale.share(week.low),
            top=scale.share(week.high),
        )
        for week in weeks
    )


def _volts_table(site: Site, volts: Sequence[DayOfNumbers], limit: float, months: MonthScale) -> Table:
    by_month = _together(volts, limit, lambda day: months.month_of(day.day + NOON))
    return Table(
        head=table_head(site, "month", "lowest", "middle-lowest", "highest", "days-at-limit"),
        rows=tuple(
            (
                months.names[months.month_of(month.start + NOON)],
                *(_volts(site, volts) for volts in (month.low, month.middle, month.high)),
                f"{month.low_days} / {month.days}",
            )
            for month in by_month
        ),
    )


def _month_marks(at: int, month: MonthOutlook, volts: VoltsOfDays | None, top: float) -> list[Mark]:
    """A bar of the charge, a line of the use across nearly the whole month, and above it a cross or a tick."""
    charge, use = month.charge.value, month.use.value
    marks = [
        Mark(shape="bar", tone="low" if charge < use else "water", x=(at + 0.2) / 12, width=0.6 / 12, top=charge / top),
        Mark(shape="line", tone="ink", x=(at + 0.05) / 12, width=0.9 / 12, top=use / top),
    ]
    if volts is not None:
        low = volts.low_days > 0
        marks.append(
            Mark(shape="word", tone="low" if low else "ink", x=(at + 0.5) / 12, top=1.0, text="✕" if low else "✓")
        )
    return marks


def _sun_against_volts(site: Site, outlook: PowerOutlook, by_month: Mapping[int, VoltsOfDays]) -> str:
    """Whether the months in which the battery was seen low are those in which the sun is short."""
    if not by_month:
        return site.phrases.page("sun.not-read")
    low = {month for month, volts in by_month.items() if volts.low_days}
    if not low:
        return site.phrases.page("sun.never-low", months=len(by_month))
    names = ", ".join(month_label(site, month) for month in sorted(low))
    return site.phrases.page(
        "sun.as-worked-out" if low <= set(outlook.short_months()) else "sun.unexplained", months=names
    )


def _sun_table(site: Site, rows: Sequence[tuple[MonthOutlook, VoltsOfDays | None]]) -> Table:
    number = site.phrases.format_number
    return Table(
        head=table_head(site, "month", "sun", "charge", "use", "holds", "lowest", "days-at-limit"),
        rows=tuple(
            (
                month_label(site, month.month),
                number(month.sun.value, 1),
                number(month.charge.value),
                number(month.use.value),
                f"{month.days_without_sun.value:.0f}",
                _volts(site, volts.low) if volts else "",
                f"{volts.low_days} / {volts.days}" if volts else "",
            )
            for month, volts in rows
        ),
    )
