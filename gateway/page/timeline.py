"""Episodes → the fortnight's timeline: a lane for each tank, each controller and the gateway, with what was not well on it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from gateway.facts.harmless import harmless
from gateway.facts.kinds import EPISODE_STYLES, Tone
from gateway.page.charts import lacking
from gateway.page.local_calendar import day_start, local_day, short_day, when
from gateway.site import Site
from gateway.status.episodes import GATEWAY, Episode

FORTNIGHT = timedelta(days=14)
NEAR = 0.003
"""Episodes of one kind that stand nearer than this share of the fortnight (an hour) are drawn, and told, as one."""
NOTE_SHOWN_CHARS = 160


@dataclass(frozen=True, slots=True, kw_only=True)
class EpisodeMark:
    """A stretch on a lane, in shares of the fortnight, with what it was."""

    tone: Tone
    start: float
    end: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One line of the fortnight: a tank, a controller or the gateway."""

    name: str
    episodes: tuple[EpisodeMark, ...]


def timeline(site: Site, episodes: Sequence[Episode], now: datetime) -> tuple[Lane, ...]:
    """A lane for each tank, each controller and the gateway, with its episodes."""
    start = now - FORTNIGHT
    recent = [episode for episode in episodes if episode.until(now) >= start]
    return tuple(
        Lane(name=name, episodes=_lane(site, [episode for episode in recent if episode.where == where], now))
        for where, name in lane_names(site).items()
    )


def timeline_days(site: Site, now: datetime) -> tuple[tuple[str, float], ...]:
    """Every second day of the fortnight and where it begins; the first, and the first of a month, with the month's name."""
    start = now - FORTNIGHT
    first = local_day(site, start) + timedelta(days=1)
    midnights = [day_start(site, first + timedelta(days=number)) for number in range(0, 14, 2)]
    return tuple(
        (short_day(site, at) if at.day <= 2 or number == 0 else str(at.day), (at - start) / FORTNIGHT)
        for number, at in enumerate(midnights)
        if at <= now
    )


def nothing_lately(site: Site, lanes: Sequence[Lane], first: datetime | None, now: datetime) -> str:
    """What is said where no lane has anything; `first`: when the record begins."""
    if any(lane.episodes for lane in lanes):
        return ""
    return nothing_words(site, "fourteen days", first, now - FORTNIGHT)


def nothing_words(site: Site, times: str, first: datetime | None, since: datetime) -> str:
    """That nothing was in these times; never of times from before the record begins."""
    if first is None:
        return lacking("Nothing is on record yet", "the first event")
    known = f"in these {times}" if first <= since else f"since {short_day(site, first)}, when the record begins"
    return lacking(f"Nothing was low, high, silent or out {known}, and nobody wrote a note", "the first of these")


def lane_names(site: Site) -> dict[str, str]:
    """Everything that has a lane, by where its episodes are, with its name."""
    names = {f"t:{tank.id}": tank.name for tank in site.settings.tanks}
    names.update({f"c:{controller.id}": controller.name for controller in site.settings.controllers})
    return {**names, GATEWAY: "Gateway and notes"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """One mark: its first episode, from where to where it reaches, and how many episodes it stands for."""

    first: Episode
    start: float
    end: float
    count: int = 1


def _lane(site: Site, episodes: Sequence[Episode], now: datetime) -> tuple[EpisodeMark, ...]:
    start = now - FORTNIGHT
    return tuple(
        EpisodeMark(
            tone=EPISODE_STYLES[drawn.first.family].tone,
            start=drawn.start,
            end=drawn.end,
            text=_episode_text(site, drawn, now),
        )
        for drawn in _joined(episodes, start, now)
    )


def _joined(episodes: Sequence[Episode], start: datetime, now: datetime) -> list[_Drawn]:
    """Episodes of one kind that nearly touch become one mark, for those of a chattering float would be hundreds; notes stay apart."""
    marks: list[_Drawn] = []
    for episode in episodes:
        begins = max(0.0, (episode.began - start) / FORTNIGHT)
        ends = min(1.0, (episode.until(now) - start) / FORTNIGHT)
        alike = [number for number, mark in enumerate(marks) if mark.first.family == episode.family]
        before = marks[alike[-1]] if alike else None
        if before is not None and episode.family != "note" and begins - before.end < NEAR:
            marks[alike[-1]] = replace(before, end=max(before.end, ends), count=before.count + 1)
        else:
            marks.append(_Drawn(first=episode, start=begins, end=ends))
    return marks


def _episode_text(site: Site, drawn: _Drawn, now: datetime) -> str:
    episode = drawn.first
    began = when(site, episode.began, now)
    if episode.family == "note":
        return f"Note, {began}: {harmless(episode.text)[:NOTE_SHOWN_CHARS]}"
    what = EPISODE_STYLES[episode.family].words + (f", {drawn.count} times" if drawn.count > 1 else "")
    if episode.ended == episode.began:
        return f"{what}, {began}"
    if episode.ended is None:
        return f"{what} since {began}"
    # Of several in one mark only the mark knows where the last of them ended.
    until = episode.until(now) if drawn.count == 1 else now - FORTNIGHT + FORTNIGHT * drawn.end
    return f"{what} from {began} to {when(site, until, now)} ({site.phrases.format_span(until - episode.began)})"
