"""Episodes → a year of days, each marked with the weightiest of what was on it, and the weekdays on which low episodes began."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gateway.facts.event_kind import EPISODE_TONES, Tone
from gateway.facts.harmless import harmless
from gateway.page.charts import Chart, Mark, Table, lacking, table_head
from gateway.page.local_calendar import (
    day_start,
    following_month,
    local_day,
    long_day,
    month_label,
    month_starts,
    weekday_names,
)
from gateway.page.timeline import NOTE_SHOWN_CHARS, lane_names, nothing_words
from gateway.site import Site
from gateway.status.episodes import GATEWAY, Episode

FEWEST_LOWS = 7
"""Low episodes in a year, below which their weekdays say nothing."""
LOW_FOR_LONG_S = 6 * 3600
WEIGHTIEST_FIRST: tuple[Tone, ...] = ("dry", "low", "silent", "power", "off", "high", "note")
"""What a day is marked with."""

OnDay = tuple[Tone, str]
"""One thing that was on a day: how it looks, and in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarDay:
    """One day; `tone` is its weightiest alarm, `long`: a tank was low for much of it; `noted`: somebody wrote a note."""

    number: int
    tone: Tone | None = None
    text: str = ""
    long: bool = False
    noted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarMonth:
    """One month: how many days of its first week belong to the month before, and its days; None is still to come."""

    name: str
    blank: int
    days: tuple[CalendarDay | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearCalendar:
    """A year of days, the names of the week's days, what was on which day, and on which weekdays low episodes began.

    `nothing`: what is said in its place where no day is marked.
    """

    weekdays: tuple[str, ...]
    months: tuple[CalendarMonth, ...]
    days: Table
    summary: str
    by_weekday: Chart
    nothing: str = ""


def year_calendar(site: Site, episodes: Sequence[Episode], first: datetime | None, now: datetime) -> YearCalendar:
    """Twelve months of days, this one the last; `first`: when the record begins."""
    marked, long_days = _by_day(site, episodes, now), _days_low_for_long(site, episodes, now)
    today, starts = local_day(site, now), [start.date() for start in month_starts(site, now, 12)]
    shown = [day for day in sorted(marked, reverse=True) if starts[0] <= day <= today]
    begin = day_start(site, starts[0])
    return YearCalendar(
        weekdays=weekday_names(site),
        months=tuple(_month(site, start, marked, long_days, today) for start in starts),
        days=Table(
            head=table_head(site, "day", "what"),
            rows=tuple((long_day(site, day), "; ".join(_day_texts(site, marked[day]))) for day in shown),
        ),
        summary=_summary(site, marked, begin.date()),
        nothing="" if shown else nothing_words(site, "year", first, begin),
        by_weekday=_weekday_chart(site, [episode for episode in episodes if episode.began >= begin]),
    )


def _by_day(site: Site, episodes: Sequence[Episode], now: datetime) -> dict[date, list[OnDay]]:
    """What was on each local day; an episode counts on every day it touches."""
    names = lane_names(site)
    by_day: dict[date, list[OnDay]] = {}
    for episode in episodes:
        if episode.where not in names:
            continue  # of a tank or controller that is configured no more
        day, last = local_day(site, episode.began), local_day(site, episode.until(now))
        on_day = (EPISODE_TONES[episode.family], _episode_text(site, episode, names[episode.where]))
        while day <= last:
            by_day.setdefault(day, []).append(on_day)
            day += timedelta(days=1)
    return by_day


def _episode_text(site: Site, episode: Episode, name: str) -> str:
    if episode.family == "note":
        return site.phrases.page("year.note", text=harmless(episode.text)[:NOTE_SHOWN_CHARS])
    what = site.phrases.page(f"episode.{episode.family}")
    return what if episode.where == GATEWAY else f"{name}: {what}"


def _summary(site: Site, marked: Mapping[date, Sequence[OnDay]], begin: date) -> str:
    """On how many days a tank was low, on how many the taps ran dry."""
    tones = [{tone for tone, _ in on_day} for day, on_day in marked.items() if day >= begin]
    low, dry = (sum(1 for of_day in tones if tone in of_day) for tone in ("low", "dry"))
    return site.phrases.page("year.summary-dry" if dry else "year.summary", low=str(low), dry=str(dry))


def _days_low_for_long(site: Site, episodes: Sequence[Episode], now: datetime) -> set[date]:
    """Days on which one tank was low for six hours or more."""
    low_s: Counter[tuple[date, str]] = Counter()
    for episode in episodes:
        at, end = episode.began, episode.until(now)
        while episode.family == "low" and at < end:
            day = local_day(site, at)
            until = min(end, day_start(site, day + timedelta(days=1)))
            low_s[(day, episode.where)] += int((until - at).total_seconds())
            at = until
    return {day for (day, _), seconds in low_s.items() if seconds >= LOW_FOR_LONG_S}


def _day_texts(site: Site, on_day: Sequence[OnDay]) -> list[str]:
    """What was on a day, the weightiest first, alike ones counted."""
    counted = Counter(sorted(on_day, key=lambda mark: WEIGHTIEST_FIRST.index(mark[0])))
    return [
        text if count == 1 else site.phrases.page("lately.often", what=text, count=count)
        for (_, text), count in counted.items()
    ]


def _month(
    site: Site, start: date, marked: Mapping[date, Sequence[OnDay]], long_days: set[date], today: date
) -> CalendarMonth:
    days = [start + timedelta(days=number) for number in range((following_month(start) - start).days)]
    return CalendarMonth(
        name=f"{month_label(site, start.month)} {start.year}",
        blank=start.weekday(),
        days=tuple(None if day > today else _day(site, day, marked.get(day, ()), day in long_days) for day in days),
    )


def _day(site: Site, day: date, on_day: Sequence[OnDay], long: bool) -> CalendarDay:
    tones = {tone for tone, _ in on_day}
    weightiest = next((tone for tone in WEIGHTIEST_FIRST if tone in tones and tone != "note"), None)
    return CalendarDay(
        number=day.day,
        tone=weightiest,
        text="; ".join(_day_texts(site, on_day)),
        long=long,
        noted="note" in tones,
    )


def _weekday_chart(site: Site, episodes: Sequence[Episode]) -> Chart:
    lows = [local_day(site, episode.began).weekday() for episode in episodes if episode.family == "low"]
    counts = Counter(lows)
    # Clearly more than by chance: four at least, and more than twice what each weekday would have.
    names, words = weekday_names(site), site.phrases.page_table("weekday")
    often = [names[day] for day, count in sorted(counts.items()) if count >= 4 and count > 2 * len(lows) / 7]
    verdict = _weekday_verdict(site, len(lows), often)
    return Chart(
        id="weekdays",
        title=words["title"],
        desc=words["desc"],
        verdict=verdict,
        levels=(("0", 0.0),),
        times=tuple((name, (day + 0.5) / 7) for day, name in enumerate(names)),
        marks=_weekday_marks(counts),
        lacking=lacking(site, verdict, "seventh-low") if len(lows) < FEWEST_LOWS else "",
        table=Table(
            head=table_head(site, "weekday", "lows"),
            rows=tuple((name, str(counts[day])) for day, name in enumerate(names)),
        ),
        worse=bool(often),
    )


def _weekday_verdict(site: Site, lows: int, often: Sequence[str]) -> str:
    if lows < FEWEST_LOWS:
        return site.phrases.page("weekday.few", lows=lows)
    return site.phrases.page("weekday.often" if often else "weekday.alike", lows=lows, days=", ".join(often))


def _weekday_marks(counts: Counter[int]) -> tuple[Mark, ...]:
    """A bar half as wide as its day, and the count above it."""
    most = max(counts.values(), default=0)
    days = [day for day in range(7) if counts[day]]
    bars = (Mark(shape="bar", tone="water", x=(day + 0.25) / 7, width=0.5 / 7, top=counts[day] / most) for day in days)
    words = (
        Mark(shape="word", tone="ink", x=(day + 0.5) / 7, top=counts[day] / most, text=str(counts[day])) for day in days
    )
    return (*bars, *words)
