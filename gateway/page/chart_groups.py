"""The page's charts in their groups: each tank's, each controller's, and what the texts cost."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.page.chart_scales import MonthScale, amount_levels, round_top, twelve_months
from gateway.page.charts import Chart, ChartGroup, Mark, Table, chart_group, lacking
from gateway.page.level_chart import level_chart
from gateway.page.power_charts import THIRD_WEEK, sun_chart, volts_chart, volts_of_year
from gateway.page.tank_charts import low_charts, refill_charts, years_chart, years_of
from gateway.ports import Reader
from gateway.settings.models import Controller, Limits, Tank
from gateway.site import Site
from gateway.status.episodes import Episode, low_figures, of
from gateway.status.forecast import learnt_of
from gateway.water.demand import demand_l_day
from gateway.water.learnt import float_litres
from gateway.water.water_figures import water_report

LEAST_LOOKED_AT = timedelta(days=30)
"""What is seen in less says little of a year."""


def chart_groups(
    reader: Reader, site: Site, episodes: Sequence[Episode], events: Sequence[Event], now: datetime
) -> tuple[ChartGroup, ...]:
    """A group for each tank, each controller and the texts."""
    months, years = twelve_months(site, now), years_of(reader, site, now)
    use_l_day = demand_l_day(site.settings.demand) * math.exp(learnt_of(reader, site, now).usual.mean)
    groups = []
    for tank in site.settings.tanks:
        levels = tuple(level_chart(reader, site, gauge, events, now) for gauge in site.gauges_of(tank.id))
        charts = levels + low_charts(site, tank, of(episodes, f"t:{tank.id}", "low"), months, now)
        charts += refill_charts(site, tank, events, use_l_day, months) if _has_both_floats(tank) else ()
        charts += (years_chart(reader, site, tank, years),) if years else ()
        notes = (*_how_often_low(reader, tank, events, months.starts[0], now), *_not_measured(site, tank))
        groups.append(chart_group(tank.name, charts, notes))
    groups += [_power_group(reader, site, controller, months, now) for controller in site.settings.controllers]
    return (*groups, chart_group("Texts", (_cost_chart(reader, site, months),)))


def _has_both_floats(tank: Tank) -> bool:
    return {"low", "high"} <= {switch.means for switch in tank.floats}


def _how_often_low(
    reader: Reader, tank: Tank, events: Sequence[Event], since: datetime, now: datetime
) -> Iterator[str]:
    """What the low episodes come to, with how sure that is."""
    first = reader.first_event_at()
    start = max(since, first) if first is not None else now
    if now - start < LEAST_LOOKED_AT:
        return
    figures = low_figures(events, tank.id, start, now)
    few, likely, many = figures.a_year
    often = f"Low about {likely:.0f} times a year ({few:.0f} to {many:.0f}, four times in five)"
    if figures.median_h:
        often += f"; half of its low spells are over after {figures.median_h:.1f} h"
    yield f"{often}."


def _not_measured(site: Site, tank: Tank) -> Iterator[str]:
    """What cannot be measured of this tank, and what the figures of the configuration say of it instead."""
    low_l = float_litres(tank, "low")
    if low_l is not None:
        yield f"{low_l:.0f} l stand below its low float."
    if _has_both_floats(tank):
        return
    report = water_report(site.settings)
    sentence = "Refill time and delivered flow can be seen only with a low and a high float"
    if report.refill is not None and tank is site.house_tank():
        sentence += f"; by the figures it fills from empty in {report.refill.value:.0f} h"
    if report.inflow is not None:
        sentence += f"; by its figures the source gives {report.inflow.value:.1f} l/min"
    yield f"{sentence}."


def _power_group(reader: Reader, site: Site, controller: Controller, months: MonthScale, now: datetime) -> ChartGroup:
    volts = volts_of_year(reader, controller, months, now)
    of_volts = volts_chart(reader, site, controller, volts, months, now)
    of_sun = sun_chart(site, controller, volts, months)
    notes = []
    if of_volts is None:
        notes.append(lacking("Its texts told no volts in these twelve months", THIRD_WEEK))
    if of_sun is None:
        notes.append("With a [controllers.power] table its sun could be worked out month by month.")
    charts = tuple(chart for chart in (of_volts, of_sun) if chart is not None)
    return chart_group(controller.name, charts, tuple(notes))


def _cost_chart(reader: Reader, site: Site, months: MonthScale) -> Chart:
    """What the segments of each month cost; without a price how many there were."""
    limits = site.settings.limits
    segments = [reader.segments_between(*month) for month in zip(months.starts, months.ends, strict=True)]
    priced = limits.price_per_segment > 0
    values = [count * limits.price_per_segment if priced else float(count) for count in segments]
    top = round_top(max(values))
    bars = tuple(
        Mark(shape="bar", tone="water", x=months.share(start) + 0.2 / 12, width=0.6 / 12, top=value / top)
        for start, value in zip(months.starts, values, strict=True)
        if value
    )
    verdict = _cost_verdict(limits, segments, values)
    return Chart(
        id="cost",
        title="What texts cost" if priced else "Texts sent",
        desc="A bar for each month: what the segments handed over in it cost." if priced else "A bar for each month.",
        verdict=f"{verdict}.",
        levels=amount_levels(top, limits.currency if priced else ""),
        times=months.labels,
        marks=bars,
        lacking=lacking(verdict, "the second month of texts") if len(bars) < 2 else "",
        table=_cost_table(limits, months, segments),
    )


def _cost_verdict(limits: Limits, segments: Sequence[int], values: Sequence[float]) -> str:
    sent = f"{sum(segments)} sent in twelve months, {segments[-1]} this month so far"
    if limits.price_per_segment > 0:
        return f"{sum(values):.2f} {limits.currency} in twelve months, {values[-1]:.2f} this month so far ({sent})"
    return f"{sent}; with limits.price_per_segment their cost would stand here"


def _cost_table(limits: Limits, months: MonthScale, segments: Sequence[int]) -> Table:
    price = limits.price_per_segment
    rows = [
        (f"{name} {start.year}", str(count), f"{count * price:.2f} {limits.currency}")
        for name, start, count in zip(months.names, months.starts, segments, strict=True)
    ]
    if price > 0:
        return Table(head=("month", "segments", "cost"), rows=tuple(rows))
    return Table(head=("month", "segments"), rows=tuple(row[:2] for row in rows))
