"""Everything of the page's trends: each tank's, each controller's, and what the texts cost."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.page import ChartView, Mark, TableView, TrendView
from gateway.page.axes import Times, lacking, linear_levels, nice_top, twelve_months
from gateway.page.power_trends import THIRD_WEEK, read_volts, sun_chart, volts_chart
from gateway.page.tank_trends import between_chart, lasting_chart, refill_charts
from gateway.page.years import years_chart, years_of
from gateway.ports import Reader
from gateway.settings.models import Controller, Tank
from gateway.site import Site
from gateway.status.episodes import Episode, low_figures, of
from gateway.status.forecast import learnt_of
from gateway.water.demand import demand_l_day
from gateway.water.learnt import float_litres
from gateway.water.report import water_report

LEAST_LOOKED_AT = timedelta(days=30)
"""What is seen in less says little of a year."""


def trends(
    reader: Reader, site: Site, episodes: Sequence[Episode], events: Sequence[Event], now: datetime
) -> tuple[TrendView, ...]:
    """Tanks, controllers, cost."""
    times = twelve_months(site, now)
    use = demand_l_day(site.settings.demand) * math.exp(learnt_of(reader, site, now).usual.mean)
    years = years_of(reader, site, now)
    found = []
    for tank in site.settings.tanks:
        lows = of(episodes, f"t:{tank.id}", "low")
        charts = [between_chart(site, tank, lows, times), lasting_chart(site, tank, lows, times, now)]
        charts += refill_charts(site, tank, events, use, times) if _has_both(tank) else ()
        charts += [years_chart(reader, site, tank, years)] if years else ()
        said = (*_how_often(reader, tank, events, times.starts[0], now), *_not_seen(site, tank))
        found.append(_trend(tank.name, charts, said))
    found += [_power(reader, site, one, times, now) for one in site.settings.controllers]
    return (*found, _trend("Texts", [_cost(reader, site, times, now)], ()))


def _trend(name: str, charts: Sequence[ChartView], said: Sequence[str]) -> TrendView:
    """What there is to draw is drawn; of the rest is said why not."""
    instead = tuple(f"{one.title}: {one.lacking[:1].lower()}{one.lacking[1:]}" for one in charts if one.lacking)
    return TrendView(name=name, charts=tuple(one for one in charts if not one.lacking), said=(*said, *instead))


def _has_both(tank: Tank) -> bool:
    return {"low", "high"} <= {one.means for one in tank.floats}


def _how_often(reader: Reader, tank: Tank, events: Sequence[Event], since: datetime, now: datetime) -> Iterator[str]:
    """What the episodes come to, with how sure that is."""
    first = reader.first_event_at()
    start = max(since, first) if first is not None else now
    if now - start < LEAST_LOOKED_AT:
        return
    figures = low_figures(events, tank.id, start, now)
    few, likely, many = figures.a_year
    said = f"Low about {likely:.0f} times a year ({few:.0f} to {many:.0f}, four times in five)"
    yield f"{said}; half of its low spells are over after {figures.median_h:.1f} h." if figures.median_h else f"{said}."


def _not_seen(site: Site, tank: Tank) -> Iterator[str]:
    """What cannot be seen of this tank, and what the figures say of it instead."""
    low = float_litres(tank, "low")
    if low is not None:
        yield f"{low:.0f} l stand below its low float."
    if _has_both(tank):
        return
    report = water_report(site.settings)
    said = "Refill time and delivered flow can be seen only with a low and a high float"
    if report.refill is not None and tank is site.house_tank():
        said += f"; by the figures it fills from empty in {report.refill.value:.0f} h"
    if report.inflow is not None:
        said += f"; by its figures the source gives {report.inflow.value:.1f} l/min"
    yield f"{said}."


def _power(reader: Reader, site: Site, controller: Controller, times: Times, now: datetime) -> TrendView:
    read = read_volts(reader, controller, times, now)
    charts = (
        volts_chart(reader, site, controller, read, times, now),
        sun_chart(site, controller, read, times),
    )
    shown = tuple(one for one in charts if one is not None)
    said = []
    if charts[0] is None:
        said.append(lacking("Its texts told no volts in these twelve months", THIRD_WEEK))
    if charts[1] is None:
        said.append("With a [controllers.power] table its sun could be worked out month by month.")
    return _trend(controller.name, shown, said)


def _cost(reader: Reader, site: Site, times: Times, now: datetime) -> ChartView:
    limits = site.settings.limits
    ends = (*times.starts[1:], times.end)
    sent = [reader.segments_between(start, end) for start, end in zip(times.starts, ends, strict=True)]
    priced = limits.price_per_segment > 0
    values = [count * limits.price_per_segment if priced else float(count) for count in sent]
    top = nice_top(max(values))
    bars = tuple(
        Mark(shape="bar", tone="water", x=times.share(start) + 0.2 / 12, width=0.6 / 12, top=value / top)
        for start, value in zip(times.starts, values, strict=True)
        if value
    )
    said = f"{sum(sent)} sent in twelve months, {sent[-1]} this month so far"
    if priced:
        said = f"{sum(values):.2f} {limits.currency} in twelve months, {values[-1]:.2f} this month so far ({said})"
    else:
        said += "; with limits.price_per_segment their cost would stand here"
    return ChartView(
        id="cost",
        title="What texts cost" if priced else "Texts sent",
        desc="A bar for each month: what the segments handed over in it cost." if priced else "A bar for each month.",
        verdict=f"{said}.",
        levels=linear_levels(top, limits.currency if priced else ""),
        times=times.marks,
        marks=bars,
        lacking=lacking(said, "the second month of texts") if len(bars) < 2 else "",
        table=TableView(
            head=("month", "segments", *(("cost",) if priced else ())),
            rows=tuple(
                (
                    f"{name} {start.year}",
                    str(count),
                    *((f"{count * limits.price_per_segment:.2f} {limits.currency}",) if priced else ()),
                )
                for name, start, count in zip(times.names, times.starts, sent, strict=True)
            ),
        ),
    )
