"""A tank's figures of twelve months, as `status.tank_history` takes them from the record → its charts, and its years side by side.

Each chart has a dot for each figure, the middle half of them as a band, a sentence that says whether it gets worse, and a table by month.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median
from typing import Literal

from gateway.facts import Event
from gateway.page.cards import tank_anchor
from gateway.page.chart_scales import MonthScale, amount_levels, hour_scale, round_top, spread
from gateway.page.charts import LEAST_DRAWN, Chart, Mark, Table, lacking, table_head
from gateway.page.local_calendar import day_start, measure
from gateway.ports import EpisodeSum, Reader
from gateway.settings.water_tables import Tank
from gateway.site import Site
from gateway.status.episodes import Episode
from gateway.status.tank_history import (
    Measured,
    change_of,
    delivered_flows,
    hours_between_lows,
    hours_low,
    refill_hours,
)
from gateway.water.inflow import delivered_l_min

DOTS_SHOWN = 300
BAND_FROM = 4
"""Of fewer figures a middle half says nothing."""
CLEARLY = 1.6
"""Hours differ clearly if by more than half again: low spells come and go with the weather."""
FLOW_CLEARLY = 1.3
YEARS_SHOWN = 20
TWO_YEARS = timedelta(days=2 * 366)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursChart:
    """One kind of hours. `part`: its table among the page's words; `worse_if`: which change is for the worse; `drawn_from`: which one makes
    the chart, of the page's `[from]`."""

    part: str
    worse_if: Literal["less", "more"]
    drawn_from: str


BETWEEN_LOWS = HoursChart(part="between", worse_if="less", drawn_from="fourth-low")
LASTING = HoursChart(part="lasting", worse_if="more", drawn_from="third-low")
REFILL = HoursChart(part="refill", worse_if="more", drawn_from="third-fill")


def low_charts(site: Site, tank: Tank, lows: Sequence[Episode], months: MonthScale, now: datetime) -> tuple[Chart, ...]:
    """Time between low episodes, and how long they last."""
    begin = months.starts[0]
    return (
        _hours_chart(site, tank, BETWEEN_LOWS, hours_between_lows(lows, begin), months),
        _hours_chart(site, tank, LASTING, hours_low(lows, begin, now), months),
    )


def refill_charts(
    site: Site, tank: Tank, events: Sequence[Event], use_l_day: float, months: MonthScale
) -> tuple[Chart, ...]:
    """How long it takes from the low float to the high one, and what was delivered meanwhile."""
    refills = refill_hours(tank, events, months.starts[0])
    flows = delivered_flows(tank, refills, use_l_day)
    hours = _hours_chart(site, tank, REFILL, refills, months)
    return (hours, _flow_chart(site, tank, flows, months)) if flows else (hours,)


def years_of(reader: Reader, site: Site, now: datetime) -> tuple[int, ...]:
    """The calendar years of the history, at most the last twenty; none while it is shorter than two, which the twelve months show."""
    first = reader.first_event_at()
    if first is None or now - first < TWO_YEARS:
        return ()
    this_year = now.astimezone(site.zone).year
    return tuple(range(max(first.astimezone(site.zone).year, this_year - YEARS_SHOWN + 1), this_year + 1))


def years_chart(reader: Reader, site: Site, tank: Tank, years: tuple[int, ...]) -> Chart:
    """Low episodes of one tank, year by year, by sums of the store."""
    sums = [_low_in_year(reader, site, tank, year) for year in years]
    top = round_top(float(max(lows.count for lows in sums)))
    step, every = 1 / len(years), max(1, len(years) // 6)
    bars = tuple(
        Mark(shape="bar", tone="water", x=step * (at + 0.2), width=step * 0.6, top=lows.count / top)
        for at, lows in enumerate(sums)
        if lows.count
    )
    say = site.phrases.page
    verdict = say("years.verdict", now=str(sums[-1].count), before=str(sums[-2].count)) if len(sums) > 1 else ""
    return Chart(
        id=f"{tank_anchor(tank.id)}-years",
        title=say("years.title"),
        desc=say("years.desc", tank=tank.name),
        verdict=verdict,
        levels=amount_levels(top, ""),
        # Counted from the end, so that this year always has its label.
        times=tuple(
            (str(year), step * (at + 0.5)) for at, year in enumerate(years) if (len(years) - 1 - at) % every == 0
        ),
        marks=bars,
        lacking="" if bars else lacking(site, verdict, "first"),
        table=_years_table(site, years, sums),
    )


def _hours_chart(site: Site, tank: Tank, about: HoursChart, hours: Sequence[Measured], months: MonthScale) -> Chart:
    scale = hour_scale([figure.value for figure in hours])
    change = change_of(hours, ratio=CLEARLY)
    worse, words = change == about.worse_if, site.phrases.page_table(about.part)
    verdict = _hours_verdict(site, hours, words.get(change, ""), worse=worse) or words["nothing"]
    return Chart(
        id=f"{tank_anchor(tank.id)}-{about.part}",
        title=words["title"],
        desc=site.phrases.page(f"{about.part}.desc", tank=tank.name),
        verdict=verdict,
        levels=scale.levels(lambda hours: _span(site, hours)),
        times=months.labels,
        marks=(*_band([scale.share(figure.value) for figure in hours]), *_dots(hours, months, scale.share)),
        table=_by_month(site, hours, months, "seen", lambda value: _span(site, value)),
        worse=worse,
        lacking=lacking(site, verdict, about.drawn_from) if len(hours) < LEAST_DRAWN else "",
    )


def _hours_verdict(site: Site, hours: Sequence[Measured], change_words: str, *, worse: bool) -> str:
    """What is usual, and how it changed; a change for the worse stands first."""
    usual = spread([figure.value for figure in hours])
    if usual is None:
        return ""
    low, high = _span(site, usual.low), _span(site, usual.high)
    key = "chart.usually-between" if low != high and len(hours) >= BAND_FROM else "chart.usually"
    values = {"middle": _span(site, usual.middle), "low": low, "high": high, "count": str(len(hours))}
    sentences = [site.phrases.page(key, **values)]
    if change_words:
        sentences.insert(0 if worse else 1, change_words)
    return " ".join(sentences)


def _flow_chart(site: Site, tank: Tank, flows: Sequence[Measured], months: MonthScale) -> Chart:
    pump = site.settings.source.pump
    by_figures = delivered_l_min(pump) if pump is not None else None
    top = round_top(max([flow.value for flow in flows] + ([by_figures] if by_figures else [])))
    change = change_of(flows, ratio=FLOW_CLEARLY)
    words, usual = site.phrases.page_table("flow"), _usual_flow(site, flows, by_figures)
    limit = (Mark(shape="line", tone="limit", x=0, width=1, top=by_figures / top),) if by_figures else ()
    return Chart(
        id=f"{tank_anchor(tank.id)}-flow",
        title=words["title"],
        desc=site.phrases.page("flow.desc", tank=tank.name),
        verdict=f"{words.get(change, '')} {usual}".strip(),
        levels=amount_levels(top, site.phrases.page("unit.flow", n="").strip()),
        times=months.labels,
        marks=(
            *_band([flow.value / top for flow in flows]),
            *limit,
            *_dots(flows, months, lambda value: value / top),
        ),
        table=_by_month(site, flows, months, "fills", lambda value: measure(site, value, "flow")),
        legend=(("limit", words["figures"]),) if by_figures else (),
        worse=change == "less",
        lacking=lacking(site, usual, "third-fill") if len(flows) < LEAST_DRAWN else "",
    )


def _usual_flow(site: Site, flows: Sequence[Measured], by_figures: float | None) -> str:
    usual = spread([flow.value for flow in flows])
    assert usual is not None  # there is no chart of no flow
    middle, low, high = (measure(site, flow, "flow") for flow in (usual.middle, usual.low, usual.high))
    key = "chart.usually-between" if low != high and len(flows) >= BAND_FROM else "chart.usually"
    sentence = site.phrases.page(key, middle=middle, low=low, high=high, count=str(len(flows)))
    if not by_figures:
        return sentence
    return f"{sentence} {site.phrases.page('flow.by-figures', flow=site.phrases.format_number(by_figures, 1))}"


def _band(shares: Sequence[float]) -> tuple[Mark, ...]:
    """The middle half and the middle, across the whole chart."""
    half = spread(shares)
    if half is None or len(shares) < BAND_FROM:
        return ()
    return (
        Mark(shape="bar", tone="band", x=0, width=1, bottom=half.low, top=half.high),
        Mark(shape="line", tone="ink", x=0, width=1, top=half.middle),
    )


def _dots(figures: Sequence[Measured], months: MonthScale, share: Callable[[float], float]) -> tuple[Mark, ...]:
    """The newest of them: a float that chatters all year must not make the page too big to load."""
    return tuple(
        Mark(shape="dot", tone="ink", x=months.share(figure.at), top=share(figure.value))
        for figure in figures[-DOTS_SHOWN:]
    )


def _by_month(
    site: Site, figures: Sequence[Measured], months: MonthScale, counted: str, words: Callable[[float], str]
) -> Table:
    values: Mapping[int, list[float]] = {month: [] for month in range(len(months.starts))}
    for figure in figures:
        values[months.month_of(figure.at)].append(figure.value)
    return Table(
        head=table_head(site, "month", counted, "least", "middle", "most"),
        rows=tuple(
            (f"{name} {start.year}", str(len(values[month])), *_least_middle_most(values[month], words))
            for month, (name, start) in enumerate(zip(months.names, months.starts, strict=True))
        ),
    )


def _least_middle_most(values: Sequence[float], words: Callable[[float], str]) -> tuple[str, str, str]:
    return (words(min(values)), words(median(values)), words(max(values))) if values else ("", "", "")


def _years_table(site: Site, years: Sequence[int], sums: Sequence[EpisodeSum]) -> Table:
    return Table(
        head=table_head(site, "year", "lows", "low-in-all"),
        rows=tuple(
            (str(year), str(lows.count), site.phrases.format_span(lows.lasted) if lows.count else "")
            for year, lows in zip(years, sums, strict=True)
        ),
    )


def _low_in_year(reader: Reader, site: Site, tank: Tank, year: int) -> EpisodeSum:
    start, end = day_start(site, date(year, 1, 1)), day_start(site, date(year + 1, 1, 1))
    return reader.episodes_between("low-over", start, end, tank=tank.id)


def _span(site: Site, hours: float) -> str:
    return site.phrases.format_span(timedelta(hours=hours))
