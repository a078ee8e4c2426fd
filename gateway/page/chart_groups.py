"""The page's charts in their groups: each tank's, each controller's, and what the texts cost."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.page.chart_scales import MonthScale, amount_levels, round_top, twelve_months
from gateway.page.charts import Chart, ChartGroup, Mark, Table, chart_group, lacking, table_head
from gateway.page.level_chart import level_chart
from gateway.page.power_charts import sun_chart, volts_chart, volts_of_year
from gateway.page.tank_charts import low_charts, refill_charts, years_chart, years_of
from gateway.phrases import cldr
from gateway.ports import Reader
from gateway.settings.controller_tables import Controller
from gateway.settings.water_tables import Tank
from gateway.site import Site
from gateway.status.episodes import Episode, low_figures, of
from gateway.status.forecast import learnt_of
from gateway.water.chain import use_share
from gateway.water.float_levels import float_litres
from gateway.water.water_figures import water_report

LEAST_LOOKED_AT = timedelta(days=30)
"""What is seen in less says little of a year."""


def chart_groups(
    reader: Reader, site: Site, episodes: Sequence[Episode], events: Sequence[Event], now: datetime
) -> tuple[ChartGroup, ...]:
    """A group for each tank, each controller and the texts."""
    months, years = twelve_months(site, now), years_of(reader, site, now)
    learnt = learnt_of(reader, site, now)
    groups = []
    for tank in site.settings.tanks:
        levels = tuple(level_chart(reader, site, gauge, events, now) for gauge in site.gauges_of(tank.id))
        charts = levels + low_charts(site, tank, of(episodes, f"t:{tank.id}", "low"), months, now)
        if _has_both_floats(tank):
            use_l_day = learnt.of_share(use_share(site.settings, tank)).use_l_day
            charts += refill_charts(site, tank, events, use_l_day, months)
        charts += (years_chart(reader, site, tank, years),) if years else ()
        notes = (*_how_often_low(reader, site, tank, events, months.starts[0], now), *_not_measured(site, tank))
        groups.append(chart_group(tank.name, charts, notes))
    groups += [_power_group(reader, site, controller, months, now) for controller in site.settings.controllers]
    return (*groups, chart_group(site.phrases.page("cost.group"), (_cost_chart(reader, site, months),)))


def _has_both_floats(tank: Tank) -> bool:
    return {"low", "high"} <= {switch.means for switch in tank.floats}


def _how_often_low(
    reader: Reader, site: Site, tank: Tank, events: Sequence[Event], since: datetime, now: datetime
) -> Iterator[str]:
    """What the low episodes come to, with how sure that is."""
    first = reader.first_event_at()
    start = max(since, first) if first is not None else now
    if now - start < LEAST_LOOKED_AT:
        return
    figures = low_figures(events, tank.id, start, now)
    few, likely, many = (f"{count:.0f}" for count in figures.a_year)
    if many != "0":
        key = "tank.often" if few == many else "tank.often-between"
        yield site.phrases.page(key, few=few, likely=likely, many=many)
    if figures.median_h:
        yield site.phrases.page("tank.over-after", hours=site.phrases.format_number(figures.median_h, 1))


def _not_measured(site: Site, tank: Tank) -> Iterator[str]:
    """What cannot be measured of this tank, and what the figures of the configuration say of it instead."""
    low_l = float_litres(tank, "low")
    if low_l is not None:
        yield site.phrases.page("tank.below", litres=f"{low_l:.0f}")
    if _has_both_floats(tank):
        return
    report = water_report(site.settings)
    yield site.phrases.page("tank.two-floats")
    if report.refill is not None and tank is site.house_tank():
        yield site.phrases.page("tank.fills-in", hours=f"{report.refill.value:.0f}")
    if report.inflow is not None:
        yield site.phrases.page("tank.source", flow=site.phrases.format_number(report.inflow.value, 1))


def _power_group(reader: Reader, site: Site, controller: Controller, months: MonthScale, now: datetime) -> ChartGroup:
    volts = volts_of_year(reader, controller, months, now)
    of_volts = volts_chart(reader, site, controller, volts, months, now)
    of_sun = sun_chart(site, controller, volts, months)
    notes = []
    if of_volts is None:
        notes.append(lacking(site, site.phrases.page("volts.nothing"), "third-week"))
    if of_sun is None:
        notes.append(site.phrases.page("sun.nothing"))
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
    say, verdict = site.phrases.page, _cost_verdict(site, segments, values)
    return Chart(
        id="cost",
        title=say("cost.title" if priced else "cost.title-sent"),
        desc=say("cost.desc" if priced else "cost.desc-sent"),
        verdict=verdict,
        levels=amount_levels(top, limits.currency if priced else ""),
        times=months.labels,
        marks=bars,
        lacking=lacking(site, verdict, "second-month") if len(bars) < 2 else "",
        table=_cost_table(site, months, segments),
    )


def _cost_verdict(site: Site, segments: Sequence[int], values: Sequence[float]) -> str:
    limits, say = site.settings.limits, site.phrases.page
    sent = say("cost.sent", year=str(sum(segments)), month=str(segments[-1]))
    if limits.price_per_segment > 0:
        year, month = (money_words(site, amount) for amount in (sum(values), values[-1]))
        return f"{say('cost.verdict', year=year, month=month)} {sent}"
    return f"{sent} {say('cost.unpriced')}"


def money_words(site: Site, amount: float) -> str:
    """`4.20 AUD`."""
    return f"{cldr.format_decimal(site.phrases.language, amount, '0.00')} {site.settings.limits.currency}"


def _cost_table(site: Site, months: MonthScale, segments: Sequence[int]) -> Table:
    price = site.settings.limits.price_per_segment
    rows = [
        (f"{name} {start.year}", str(count), money_words(site, count * price))
        for name, start, count in zip(months.names, months.starts, segments, strict=True)
    ]
    if price > 0:
        return Table(head=table_head(site, "month", "segments", "cost"), rows=tuple(rows))
    return Table(head=table_head(site, "month", "segments"), rows=tuple(row[:2] for row in rows))
