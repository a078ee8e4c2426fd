"""Sums of the store → year by year, once the history is longer than the twelve months of the other charts."""

from datetime import date, datetime, timedelta

from gateway.page import ChartView, Mark, TableView
from gateway.page.axes import lacking, linear_levels, nice_top
from gateway.page.days import day_start
from gateway.page.ids import tank_id
from gateway.ports import EpisodeSum, Reader
from gateway.settings.models import Tank
from gateway.site import Site

YEARS_SHOWN = 20
LONGER = timedelta(days=2 * 366)


def years_of(reader: Reader, site: Site, now: datetime) -> tuple[int, ...]:
    """The calendar years of the history, at most the last twenty; none while it is shorter than two."""
    first = reader.first_event_at()
    if first is None or now - first < LONGER:
        return ()
    this = now.astimezone(site.zone).year
    return tuple(range(max(first.astimezone(site.zone).year, this - YEARS_SHOWN + 1), this + 1))


def years_chart(reader: Reader, site: Site, tank: Tank, years: tuple[int, ...]) -> ChartView:
    """Low episodes of one tank, year by year."""
    sums = [_sum(reader, site, tank, year) for year in years]
    most = max(one.count for one in sums)
    top = nice_top(float(most))
    step = 1 / len(years)
    bars = tuple(
        Mark(shape="bar", tone="water", x=step * (at + 0.2), width=step * 0.6, top=one.count / top)
        for at, one in enumerate(sums)
        if one.count
    )
    every = max(1, len(years) // 6)
    verdict = f"{sums[-1].count} so far this year, {sums[-2].count} last year." if len(sums) > 1 else ""
    return ChartView(
        id=f"{tank_id(tank.id)}-years",
        title="Low spells year by year",
        desc=f"A bar for each calendar year: how often {tank.name} was low. The first and the last year are not whole.",
        verdict=verdict,
        levels=linear_levels(top, ""),
        times=tuple(
            (str(year), step * (at + 0.5)) for at, year in enumerate(years) if (len(years) - 1 - at) % every == 0
        ),
        marks=bars,
        lacking="" if bars else lacking(verdict, "the first"),
        table=TableView(
            head=("year", "low spells", "low in all"),
            rows=tuple(
                (str(year), str(one.count), site.phrases.span(one.lasted) if one.count else "")
                for year, one in zip(years, sums, strict=True)
            ),
        ),
    )


def _sum(reader: Reader, site: Site, tank: Tank, year: int) -> EpisodeSum:
    start, end = day_start(site, date(year, 1, 1)), day_start(site, date(year + 1, 1, 1))
    return reader.episodes_between("low-over", start, end, tank=tank.id)
