"""The record → what stands in the household's calendar: what is due (drills, cards, turns of the watch, a tank that runs dry) and what was
(low spells). Each has a name of its own that it keeps however often the calendar is made anew."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gateway.facts.states.errands_and_tests import DrillWatched
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.cards import cards_until
from gateway.status.drill import next_by_itself, proven_at
from gateway.status.episodes import SHOWN_KINDS, episodes_of
from gateway.status.site_standing import site_standing
from gateway.status.watch import OnWatch, on_watch, watch_by_week

LOOKED_BACK = timedelta(days=730)
WATCH_AHEAD, WATCH_FOUND_WITHIN = timedelta(days=28), timedelta(days=14)
DRILL_TAKES, EMPTY_SHOWN = timedelta(minutes=10), timedelta(hours=1)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
LOW_OF_TANK = "t:"


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarEntry:
    """`name`: the same for the same matter; `begins`, `ends`: aware times, or days of which the last does not count any more."""

    name: str
    says: str
    begins: datetime | date
    ends: datetime | date
    more: str = ""


def calendar_entries(reader: Reader, site: Site, now: datetime) -> tuple[CalendarEntry, ...]:
    """All of them; where there is none, one that says so, for a calendar without anything in it is no calendar (RFC 5545, 3.6)."""
    entries = (
        *_drill(reader, site),
        *_cards(reader, site, now),
        *_watch(reader, site, now),
        *_empty(reader, site, now),
        *_low_spells(reader, site, now),
    )
    today = now.astimezone(site.zone).date()
    nothing = CalendarEntry(name="nothing", says="Nothing is due, and no tank was low", begins=today, ends=today + DAY)
    return entries or (nothing,)


def _drill(reader: Reader, site: Site) -> Iterator[CalendarEntry]:
    every, watched = site.settings.drill.every, reader.state(DrillWatched)
    if every is None or watched is None:
        return
    at = next_by_itself(reader, site, watched, every)
    name = f"drill-{_stamp(proven_at(reader, watched))}"
    says = "Test of the chain to the people: answer OK"
    yield CalendarEntry(name=name, says=says, begins=at, ends=at + DRILL_TAKES)


def _cards(reader: Reader, site: Site, now: datetime) -> Iterator[CalendarEntry]:
    for card in cards_until(reader, site, now):
        name = f"card-{card.card.id}-{card.why}"
        words = f"{card.card.name} {card.words} today"
        yield CalendarEntry(name=name, says=words, begins=card.on, ends=card.on + DAY)


def _watch(reader: Reader, site: Site, now: datetime) -> Iterator[CalendarEntry]:
    """Four weeks of it; by word goes before the week's pattern."""
    ends = now + WATCH_AHEAD
    watch = on_watch(reader, site, now)
    if watch is not None and watch.by_word:
        yield _turn(watch, watch.until or ends)
        if watch.until is None:
            return  # until somebody says otherwise, no turn of the week comes
        now = watch.until
    at = now - WATCH_FOUND_WITHIN  # where a turn of several days began, so that it is the same turn on each of them
    while at < ends:
        turn = watch_by_week(site, at)
        at = at + HOUR if turn is None or turn.until is None else turn.until
        if turn is not None and at > now:
            yield _turn(turn, at)


def _turn(watch: OnWatch, ends: datetime) -> CalendarEntry:
    name = f"watch-{_stamp(watch.since)}"
    return CalendarEntry(name=name, says=f"{watch.contact.name} has the watch", begins=watch.since, ends=ends)


def _empty(reader: Reader, site: Site, now: datetime) -> Iterator[CalendarEntry]:
    standing = site_standing(reader, site, now)
    for tank in standing.snapshot.tanks:
        dry_at = standing.forecasts[tank.tank.id].dry_at
        if dry_at is None:
            continue
        early, likely, late = (at.astimezone(site.zone) for at in dry_at)
        yield CalendarEntry(
            name=f"dry-{tank.tank.id}-{_stamp(tank.since) if tank.since is not None else 'unknown'}",
            says=f"{tank.tank.name} may be empty",
            begins=likely,
            ends=likely + EMPTY_SHOWN,
            more=f"As it was reckoned; with 80 % between {early:%d.%m. %H:%M} and {late:%d.%m. %H:%M}.",
        )


def _low_spells(reader: Reader, site: Site, now: datetime) -> Iterator[CalendarEntry]:
    events = reader.events(since=now - LOOKED_BACK, until=now, kinds=SHOWN_KINDS)
    for episode in episodes_of(events):
        if episode.family == "low" and episode.where.startswith(LOW_OF_TANK):
            tank = episode.where.removeprefix(LOW_OF_TANK)
            says = (
                f"{site.tank_name(tank) or tank} was low" if episode.ended else f"{site.tank_name(tank) or tank} is low"
            )
            ends = max(episode.until(now), episode.began)
            yield CalendarEntry(name=f"low-{tank}-{_stamp(episode.began)}", says=says, begins=episode.began, ends=ends)


def _stamp(at: datetime) -> str:
    return f"{at.timestamp():.0f}"
