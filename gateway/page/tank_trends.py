"""A tank's year of episodes → how often it runs low, for how long, how long it takes to fill and what that delivers.

In: its episodes and events of twelve months. Out: charts with the middle half of what was seen, a sentence that says whether it gets worse,
and a table by month.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

from gateway.facts import Event
from gateway.page import ChartView, Mark, TableView
from gateway.page.axes import LEAST_DRAWN, LogAxis, Times, lacking, linear_levels, log_axis, nice_top, spread
from gateway.page.ids import tank_id
from gateway.settings.models import Tank
from gateway.site import Site
from gateway.status.episodes import Episode
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min
from gateway.water.learnt import float_litres

HOUR = timedelta(hours=1)
DOTS_SHOWN = 300
COMPARED = 5
"""The last so many are held against those before; with fewer than twice as many nothing is said of better or worse."""
CLEARLY = 1.6
"""Differs by more than half again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One figure that was seen at a time: hours, or litres a minute."""

    at: datetime
    value: float


def between_chart(site: Site, tank: Tank, lows: Sequence[Episode], times: Times) -> ChartView:
    """Time between low episodes: from the end of one to the beginning of the next."""
    seen = [
        Seen(at=after.began, value=(after.began - before.ended) / HOUR)
        for before, after in pairwise(lows)
        if before.ended is not None and after.began > before.ended and after.began >= times.starts[0]
    ]
    worse, how = _compare(seen, lambda now, then: now < then / CLEARLY, lambda now, then: now > then * CLEARLY)
    words = {"worse": "It runs low more often than it did", "better": "It runs low less often than it did"}
    return _hours_chart(
        site,
        f"{tank_id(tank.id)}-between",
        "Time between low spells",
        f"A dot for each low spell of {tank.name} in twelve months: how long it had been well before.",
        seen,
        times,
        (worse, words.get(how, "")),
        "No two low spells in these twelve months.",
        "the fourth low spell",
    )


def lasting_chart(site: Site, tank: Tank, lows: Sequence[Episode], times: Times, now: datetime) -> ChartView:
    """How long low episodes last."""
    seen = [Seen(at=one.began, value=one.lasted(now) / HOUR) for one in lows if one.began >= times.starts[0]]
    worse, how = _compare(seen, lambda now, then: now > then * CLEARLY, lambda now, then: now < then / CLEARLY)
    words = {"worse": "Low spells last longer than they did", "better": "Low spells are shorter than they were"}
    return _hours_chart(
        site,
        f"{tank_id(tank.id)}-lasting",
        "How long low spells last",
        f"A dot for each low spell of {tank.name} in twelve months: how long it lasted.",
        seen,
        times,
        (worse, words.get(how, "")),
        "No low spell in these twelve months.",
        "the third low spell",
    )


def refill_charts(
    site: Site, tank: Tank, events: Sequence[Event], use_l_day: float, times: Times
) -> tuple[ChartView, ...]:
    """How long it takes from the low float to the high one, and what was delivered meanwhile."""
    seen = refills(tank, events, times)
    worse, how = _compare(seen, lambda now, then: now > then * CLEARLY, lambda now, then: now < then / CLEARLY)
    words = {"worse": "It fills more slowly than it did", "better": "It fills faster than it did"}
    refill = _hours_chart(
        site,
        f"{tank_id(tank.id)}-refill",
        "Refill time",
        f"A dot for each time {tank.name} filled from its low float to its high one: how long it took.",
        seen,
        times,
        (worse, words.get(how, "")),
        "It was not seen to fill from its low float to its high one.",
        "the third fill",
    )
    low, high = float_litres(tank, "low"), float_litres(tank, "high")
    if not seen or low is None or high is None or high <= low:
        return (refill,)
    return (refill, _flow_chart(site, tank, seen, high - low, use_l_day, times))


def refills(tank: Tank, events: Sequence[Event], times: Times) -> list[Seen]:
    """Hours from leaving the low float to reaching the high one, each fill once."""
    left: datetime | None = None
    seen = []
    for event in events:
        if event.tank != tank.id:
            continue
        if event.kind == "low-over" and not event.detail.get("first"):
            left = event.at
        elif event.kind == "low":
            left = None
        elif event.kind == "high" and left is not None:
            if event.at > left and event.at >= times.starts[0]:
                seen.append(Seen(at=event.at, value=(event.at - left) / HOUR))
            left = None
    return seen


def _flow_chart(
    site: Site, tank: Tank, seen: Sequence[Seen], litres: float, use_l_day: float, times: Times
) -> ChartView:
    flows = [Seen(at=one.at, value=(litres / (one.value / 24) + use_l_day) / MINUTES_A_DAY) for one in seen]
    worse, how = _compare(flows, lambda now, then: now < then / 1.3, lambda now, then: now > then * 1.3)
    pump = site.settings.source.pump
    figured = delivered_l_min(pump) if pump is not None else None
    top = nice_top(max([one.value for one in flows] + ([figured] if figured else [])))
    middle = spread([one.value for one in flows])
    assert middle is not None
    half = f", half of the fills between {middle.low:.1f} and {middle.high:.1f}" if len(seen) > 3 else ""
    said = f"{middle.middle:.1f} l/min{half} ({len(seen)} seen)"
    said += f"; {figured:.1f} by the figures of the source." if figured else "."
    words = {"worse": "It delivers less than it did. ", "better": "It delivers more than it did. "}
    marks = _spread_marks([one.value / top for one in flows])
    if figured:
        marks += (Mark(shape="line", tone="limit", x=0, width=1, top=figured / top),)
    return ChartView(
        id=f"{tank_id(tank.id)}-flow",
        title="Delivered flow",
        desc=f"A dot for each fill of {tank.name}: what flowed in, with what was used meanwhile by the household's figure.",
        verdict=words.get(how, "") + said,
        levels=linear_levels(top, "l/min"),
        times=times.marks,
        marks=(*marks, *_dots(flows, times, lambda value: value / top)),
        table=_by_month(flows, times, "fills", lambda value: f"{value:.1f} l/min"),
        legend=(("limit", "by the figures of the source"),) if figured else (),
        worse=worse,
        lacking=lacking(said, "the third fill") if len(seen) < LEAST_DRAWN else "",
    )


def _hours_chart(
    site: Site,
    id: str,
    title: str,
    desc: str,
    seen: Sequence[Seen],
    times: Times,
    trend: tuple[bool, str],
    nothing: str,
    drawn_from: str,
) -> ChartView:
    axis: LogAxis = log_axis([one.value for one in seen])
    middle = spread([one.value for one in seen])
    worse, words = trend
    verdict = nothing
    if middle is not None:
        low, high = _span(site, middle.low), _span(site, middle.high)
        usual = f"Usually {_span(site, middle.middle)}"
        usual += f", half of them between {low} and {high}" if low != high and len(seen) > 3 else ""
        pieces = [f"{usual} ({len(seen)} seen)."] + ([f"{words}."] if words else [])
        verdict = " ".join(reversed(pieces) if worse else pieces)
    return ChartView(
        id=id,
        title=title,
        desc=desc,
        verdict=verdict,
        levels=axis.levels(),
        times=times.marks,
        marks=(*_spread_marks([axis.share(one.value) for one in seen]), *_dots(seen, times, axis.share)),
        table=_by_month(seen, times, "seen", lambda hours: _span(site, hours)),
        worse=worse,
        lacking=lacking(verdict, drawn_from) if len(seen) < LEAST_DRAWN else "",
    )


def _compare(
    seen: Sequence[Seen], worse: Callable[[float, float], bool], better: Callable[[float, float], bool]
) -> tuple[bool, str]:
    """The last few against all before."""
    if len(seen) < 2 * COMPARED:
        return False, ""
    now, then = median(one.value for one in seen[-COMPARED:]), median(one.value for one in seen[:-COMPARED])
    return (True, "worse") if worse(now, then) else (False, "better" if better(now, then) else "")


def _spread_marks(shares: Sequence[float]) -> tuple[Mark, ...]:
    middle = spread(shares)
    if middle is None or len(shares) < 4:
        return ()
    return (
        Mark(shape="bar", tone="band", x=0, width=1, bottom=middle.low, top=middle.high),
        Mark(shape="line", tone="ink", x=0, width=1, top=middle.middle),
    )


def _dots(seen: Sequence[Seen], times: Times, share: Callable[[float], float]) -> tuple[Mark, ...]:
    return tuple(
        Mark(shape="dot", tone="ink", x=times.share(one.at), top=share(one.value)) for one in seen[-DOTS_SHOWN:]
    )


def _by_month(seen: Sequence[Seen], times: Times, counted: str, say: Callable[[float], str]) -> TableView:
    months: list[list[float]] = [[] for _ in times.starts]
    for one in seen:
        months[times.month_of(one.at)].append(one.value)
    return TableView(
        head=("month", counted, "least", "middle", "most"),
        rows=tuple(
            (
                f"{name} {start.year}",
                str(len(values)),
                *((say(min(values)), say(median(values)), say(max(values))) if values else ("", "", "")),
            )
            for name, start, values in zip(times.names, times.starts, months, strict=True)
        ),
    )


def _span(site: Site, hours: float) -> str:
    return site.phrases.span(timedelta(hours=hours))
