"""Episodes → the fortnight's timeline: a lane for each tank, each controller and the gateway, with what was not well on it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.event_kind import EPISODE_TONES, Tone
from gateway.facts.harmless import harmless
from gateway.page.local_calendar import day_start, local_day, short_day
from gateway.phrases.phrasebook import When
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
    )


def nothing_lately(site: Site, lanes: Sequence[Lane], first: datetime | None, now: datetime) -> str:
    """What is said where no lane has anything; `first`: when the record begins."""
    if any(lane.episodes for lane in lanes):
        return ""
    return nothing_words(site, "fortnight", first, now - FORTNIGHT)


def nothing_words(site: Site, times: Literal["fortnight", "year"], first: datetime | None, since: datetime) -> str:
    """That nothing was in these times; never of times from before the record begins."""
    if first is None:
        return site.phrases.page("nothing.yet")
    if first <= since:
        return site.phrases.page(f"nothing.{times}")
    return site.phrases.page("nothing.since", day=short_day(site, first))


def lane_names(site: Site) -> dict[str, str]:
    """Everything that has a lane, by where its episodes are, with its name."""
    names = {f"t:{tank.id}": tank.name for tank in site.settings.tanks}
    names.update({f"c:{controller.id}": controller.name for controller in site.settings.controllers})
    return {**names, GATEWAY: site.phrases.page("lately.gateway")}


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
            tone=EPISODE_TONES[drawn.first.family],
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
    episode, say = drawn.first, site.phrases.page
    began = When(episode.began, now, site.zone)
    if episode.family == "note":
        return say("lately.note", at=began, text=harmless(episode.text)[:NOTE_SHOWN_CHARS])
    what = say(f"episode.{episode.family}")
    if drawn.count > 1:
        what = say("lately.often", what=what, count=drawn.count)
    if episode.ended == episode.began:
        return say("lately.at", what=what, at=began)
    if episode.ended is None:
        return say("lately.since", what=what, since=began)
    # Of several in one mark only the mark knows where the last of them ended.
    until = episode.until(now) if drawn.count == 1 else now - FORTNIGHT + FORTNIGHT * drawn.end
    lasted = site.phrases.format_span(until - episode.began)
    return say("lately.from-to", what=what, since=began, until=When(until, now, site.zone), span=lasted)
