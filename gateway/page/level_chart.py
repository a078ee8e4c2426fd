"""What a gauge read in thirty days → a line of the level, with its limits, and a mark wherever a float of the same tank switched."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from gateway.facts import Event, input_key
from gateway.page.cards import tank_anchor
from gateway.page.chart_scales import amount_levels, round_top
from gateway.page.charts import LEAST_DRAWN, Chart, Mark, Table, lacking, table_head
from gateway.page.local_calendar import day_start, local_day, measure, short_day
from gateway.phrases.phrasebook import When
from gateway.ports import Reader
from gateway.site import PlacedGauge, Site
from gateway.status.levels import Height, heights_of
from gateway.water.gauge_heights import range_of

SHOWN = timedelta(days=30)
MOST_READ, MOST_DRAWN = 4000, 300
"""A gauge that tells each minute must not make the page too big to load: of what was read, every so manieth is drawn."""
LONGEST_GAP = timedelta(days=2)
"""Over a longer silence no line is drawn."""
LABELS_DAYS = 5
SWITCHES = ("low", "low-over", "high", "high-over")


def level_chart(reader: Reader, site: Site, placed: PlacedGauge, events: Sequence[Event], now: datetime) -> Chart:
    """The chart; `events`: those of a year, among which are the floats' switches."""
    start = now - SHOWN
    heights = heights_of(reader, placed, now, since=start, limit=MOST_READ)
    drawn = heights[:: -(-len(heights) // MOST_DRAWN) or 1]
    brim = range_of(placed.gauge, placed.tank.shape)[1]
    top = brim or round_top(max((height.level_m for height in heights), default=1.0))

    def along(at: datetime) -> float:
        return min(1.0, max(0.0, (at - start) / SHOWN))

    lines = tuple(
        Mark(
            shape="slope",
            tone="ink",
            x=along(before.at),
            width=along(after.at) - along(before.at),
            bottom=before.level_m / top,
            top=after.level_m / top,
        )
        for before, after in pairwise(drawn)
        if after.at - before.at <= LONGEST_GAP
    )
    verdict, words = _verdict(site, heights, now), site.phrases.page_table("level")
    days = [local_day(site, start) + timedelta(days=day) for day in range(LABELS_DAYS, SHOWN.days, LABELS_DAYS)]
    return Chart(
        id=f"{tank_anchor(placed.tank.id)}-level-{placed.tank.gauges.index(placed.gauge)}",
        title=words["title"],
        desc=site.phrases.page("level.desc", tank=placed.tank.name),
        verdict=verdict,
        levels=amount_levels(round(top, 2), site.phrases.page("unit.metres", n="").strip()),
        times=tuple(
            (short_day(site, day_start(site, day).astimezone(site.zone)), along(day_start(site, day))) for day in days
        ),
        marks=(*_limits(placed, top), *lines, *_float_marks(site, placed, events, start, top, along)),
        table=_table(site, heights),
        legend=(("ink", words["line"]), ("limit", words["limit"]), ("none", words["switched"])),
        lacking=lacking(site, verdict, "third-level") if len(heights) < LEAST_DRAWN else "",
    )


def _limits(placed: PlacedGauge, top: float) -> tuple[Mark, ...]:
    limits = (limit for limit in (placed.gauge.low_m, placed.gauge.high_m) if limit)
    return tuple(Mark(shape="line", tone="limit", x=0, width=1, top=limit / top) for limit in limits)


def _float_marks(
    site: Site,
    placed: PlacedGauge,
    events: Sequence[Event],
    start: datetime,
    top: float,
    along: Callable[[datetime], float],
) -> tuple[Mark, ...]:
    """Where a float of the tank switched, at the height where it hangs."""
    levels = {
        (switch.float.controller, input_key(switch.float.input)): switch.float.level_m
        for switch in site.floats_of(placed.tank.id)
    }
    switched = [event for event in events if event.kind in SWITCHES and event.at >= start]
    marks = ((event, levels.get((event.controller or "", input_key(event.input or "")))) for event in switched)
    return tuple(
        Mark(shape="dot", tone="low" if event.kind == "low" else "water", x=along(event.at), top=level / top)
        for event, level in marks
        if level is not None
    )


def _verdict(site: Site, heights: Sequence[Height], now: datetime) -> str:
    if not heights:
        return site.phrases.page("level.nothing")
    last, read, number = heights[-1], [height.level_m for height in heights], site.phrases.format_number
    litres = "" if last.litres is None else f", {measure(site, last.litres, 'litres')}"
    return site.phrases.page(
        "level.verdict",
        now=f"{measure(site, last.level_m, 'metres')}{litres}",
        at=When(last.at, now, site.zone),
        least=number(min(read)),
        most=number(max(read)),
    )


def _table(site: Site, heights: Sequence[Height]) -> Table:
    """By local day."""
    by_day: dict[str, list[float]] = {}
    for height in heights:
        by_day.setdefault(short_day(site, height.at.astimezone(site.zone)), []).append(height.level_m)
    rows = tuple(
        (day, str(len(read)), measure(site, min(read), "metres"), measure(site, max(read), "metres"))
        for day, read in by_day.items()
    )
    return Table(head=table_head(site, "day", "read", "least", "most"), rows=rows)
