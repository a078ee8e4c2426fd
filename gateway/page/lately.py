"""Episodes → the fortnight's lanes and the year's calendar, as the page draws them."""

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from gateway.facts.harmless import harmless
from gateway.facts.kinds import EPISODE_STYLES
from gateway.page import ChartView, DayView, EpisodeView, LaneView, Mark, MonthView, TableView, Tone, YearView
from gateway.page.axes import lacking
from gateway.page.days import (
    MONTHS,
    WEEKDAYS,
    day_start,
    following_month,
    long_day,
    months_back,
    short_day,
)
from gateway.site import Site
from gateway.status.episodes import GATEWAY, Episode

FORTNIGHT = timedelta(days=14)
NEAR = 0.003
"""Episodes of one kind that stand nearer than this share of the fortnight (an hour) are drawn, and told, as one."""
FEWEST = 7
"""Low episodes in a year, below which their weekdays say nothing."""
LONG = timedelta(hours=6)
NOTE_SHOWN = 160
WEIGHT: tuple[Tone, ...] = ("dry", "low", "silent", "power", "off", "high", "note")
"""What a day is marked with, the weightiest first."""


def lane_days(site: Site, now: datetime) -> tuple[tuple[str, float], ...]:
    """Marks of the fortnight's days, every second one."""
    start = now - FORTNIGHT
    first = start.astimezone(site.zone).date() + timedelta(days=1)
    marks = [day_start(site, first + timedelta(days=number)) for number in range(0, 14, 2)]
    return tuple(
        (short_day(site, at) if at.day <= 2 or number == 0 else str(at.day), (at - start) / FORTNIGHT)
        for number, at in enumerate(marks)
        if at <= now
    )


def lanes(site: Site, episodes: Sequence[Episode], now: datetime) -> tuple[LaneView, ...]:
    """A lane for each tank, each controller and the gateway, with its episodes."""
    start = now - FORTNIGHT
    recent = [one for one in episodes if one.until(now) >= start]
    return tuple(
        LaneView(name=name, episodes=_lane(site, [one for one in recent if one.where == where], start, now))
        for where, name in places(site).items()
    )


def nothing_lately(site: Site, lanes: Sequence[LaneView], first: datetime | None, now: datetime) -> str:
    """What is said where no lane has anything; `first`: when the record begins."""
    return "" if any(one.episodes for one in lanes) else _nothing(site, "fourteen days", first, now - FORTNIGHT)


def _nothing(site: Site, times: str, first: datetime | None, since: datetime) -> str:
    if first is None:
        return lacking("Nothing is on record yet", "the first event")
    known = f"in these {times}" if first <= since else f"since {short_day(site, first)}, when the record begins"
    return lacking(f"Nothing was low, high, silent or out {known}, and nobody wrote a note", "the first of these")


def places(site: Site) -> dict[str, str]:
    """Everything that has a lane, with its name."""
    names = {f"t:{one.id}": one.name for one in site.settings.tanks}
    names.update({f"c:{one.id}": one.name for one in site.settings.controllers})
    return {**names, GATEWAY: "Gateway and notes"}


def year(site: Site, episodes: Sequence[Episode], first: datetime | None, now: datetime) -> YearView:
    """Twelve months of days, this one the last, and on which weekdays low episodes began."""
    marked, long = _days(site, episodes, now), _long_days(site, episodes, now)
    today = now.astimezone(site.zone).date()
    starts = [one.date() for one in months_back(site, now, 12)]
    days = [day for day in sorted(marked, reverse=True) if starts[0] <= day <= today]
    return YearView(
        weekdays=WEEKDAYS,
        months=tuple(_month(start, marked, long, today) for start in starts),
        days=TableView(
            head=("day", "what"),
            rows=tuple((long_day(day), "; ".join(_told(marked[day]))) for day in days),
        ),
        nothing="" if days else _nothing(site, "twelve months", first, day_start(site, starts[0])),
        by_weekday=_by_weekday(site, [one for one in episodes if one.began >= day_start(site, starts[0])]),
    )


def _lane(site: Site, episodes: Sequence[Episode], start: datetime, now: datetime) -> tuple[EpisodeView, ...]:
    drawn: list[tuple[Episode, float, float, int]] = []
    for one in episodes:
        begins, ends = max(0.0, (one.began - start) / FORTNIGHT), min(1.0, (one.until(now) - start) / FORTNIGHT)
        near = next((at for at in reversed(range(len(drawn))) if drawn[at][0].family == one.family), None)
        if near is not None and one.family != "note" and begins - drawn[near][2] < NEAR:
            first, since, until, count = drawn[near]
            drawn[near] = (first, since, max(until, ends), count + 1)
        else:
            drawn.append((one, begins, ends, 1))
    return tuple(
        EpisodeView(
            tone=EPISODE_STYLES[one.family].tone,
            start=begins,
            end=ends,
            said=_said(site, one, one.until(now) if count == 1 else start + FORTNIGHT * ends, count, now),
        )
        for one, begins, ends, count in drawn
    )


def _said(site: Site, one: Episode, until: datetime, count: int, now: datetime) -> str:
    began = _time(site, one.began, now)
    if one.family == "note":
        return f"Note, {began}: {harmless(one.text)[:NOTE_SHOWN]}"
    what = EPISODE_STYLES[one.family].words + (f", {count} times" if count > 1 else "")
    if one.ended == one.began:
        return f"{what}, {began}"
    if one.ended is None:
        return f"{what} since {began}"
    return f"{what} from {began} to {_time(site, until, now)} ({site.phrases.span(until - one.began)})"


def _days(site: Site, episodes: Sequence[Episode], now: datetime) -> dict[date, list[tuple[Tone, str]]]:
    """What was on each local day; an episode counts on every day it touches."""
    names = places(site)
    found: dict[date, list[tuple[Tone, str]]] = {}
    for one in episodes:
        if one.where not in names:
            continue
        day, last = one.began.astimezone(site.zone).date(), one.until(now).astimezone(site.zone).date()
        said = f"{names[one.where]} {EPISODE_STYLES[one.family].words}"
        if one.family == "note":
            said = f"note: {harmless(one.text)[:NOTE_SHOWN]}"
        elif one.where == GATEWAY:
            said = EPISODE_STYLES[one.family].words
        while day <= last:
            found.setdefault(day, []).append((EPISODE_STYLES[one.family].tone, said))
            day += timedelta(days=1)
    return found


def _long_days(site: Site, episodes: Sequence[Episode], now: datetime) -> set[date]:
    """Days on which one tank was low for six hours or more."""
    low: Counter[tuple[date, str]] = Counter()
    for one in episodes:
        at, end = one.began, one.until(now)
        while one.family == "low" and at < end:
            day = at.astimezone(site.zone).date()
            until = min(end, day_start(site, day + timedelta(days=1)))
            low[(day, one.where)] += int((until - at).total_seconds())
            at = until
    return {day for (day, _), seconds in low.items() if seconds >= LONG.total_seconds()}


def _told(marks: Sequence[tuple[Tone, str]]) -> list[str]:
    """What was on a day, the weightiest first, alike ones counted."""
    counted = Counter(sorted(marks, key=lambda one: WEIGHT.index(one[0])))
    return [said if count == 1 else f"{said} ({count} times)" for (_, said), count in counted.items()]


def _month(start: date, marked: dict[date, list[tuple[Tone, str]]], long: set[date], today: date) -> MonthView:
    days: list[DayView | None] = []
    for number in range(1, (following_month(start) - start).days + 1):
        day = start.replace(day=number)
        marks = marked.get(day, [])
        tones = {tone for tone, _ in marks} - {"note"}
        weightiest = next((tone for tone in WEIGHT if tone in tones), None)
        days.append(
            None
            if day > today
            else DayView(
                number=number,
                tone=weightiest,
                said="; ".join(_told(marks)),
                long=day in long,
                noted=any(one == "note" for one, _ in marks),
            )
        )
    name = f"{MONTHS[start.month - 1]} {start.year}"
    return MonthView(name=name, blank=start.weekday(), days=tuple(days))


def _by_weekday(site: Site, episodes: Sequence[Episode]) -> ChartView:
    counts = Counter(one.began.astimezone(site.zone).weekday() for one in episodes if one.family == "low")
    names, total = WEEKDAYS, counts.total()
    most = max(counts.values(), default=0)
    usual = total / 7
    often = [names[day] for day, count in sorted(counts.items()) if count >= 4 and count > 2 * usual]
    verdict = f"{total or 'no'} low {'spell' if total <= 1 else 'spells'} began in these twelve months"
    if total >= FEWEST:
        verdict += (
            f", most often on {', '.join(often)}" if often else ", on no weekday clearly more often than on others"
        )
    width = 0.5 / 7
    bars = [
        Mark(shape="bar", tone="water", x=(day + 0.25) / 7, width=width, top=counts[day] / most)
        for day in range(7)
        if counts[day]
    ]
    words = [
        Mark(shape="word", tone="ink", x=(day + 0.5) / 7, top=counts[day] / most, said=str(counts[day]))
        for day in range(7)
        if counts[day]
    ]
    return ChartView(
        id="weekdays",
        title="On which weekdays low spells begin",
        desc="A bar for each day of the week: how many low spells began on it in twelve months.",
        verdict=f"{verdict}.",
        levels=(("0", 0.0),),
        times=tuple((name, (day + 0.5) / 7) for day, name in enumerate(names)),
        marks=(*bars, *words),
        lacking=lacking(verdict, "the seventh") if total < FEWEST else "",
        table=TableView(
            head=("weekday", "low spells"), rows=tuple((name, str(counts[day])) for day, name in enumerate(names))
        ),
        worse=bool(often),
    )


def _time(site: Site, at: datetime, now: datetime) -> str:
    return site.phrases.time(at, now, site.zone)
