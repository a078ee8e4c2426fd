"""Events → episodes: stretches of time in which something was not well, of a tank, a controller or the gateway; low ones in figures too.

An end whose beginning is not among the events still tells when it began, by how long it lasted; figures do not count it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import KINDS, Event, kinds_where
from gateway.facts.event_kind import Family
from gateway.water.episode_figures import EpisodeFigures, episode_figures

GATEWAY = "gateway"
SHOWN_KINDS = kinds_where(lambda kind: kind.moment or kind.begins_episode or kind.ends_episode)
"""What begins an episode, ends one, or is a moment of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Episode:
    """`where`: `t:<tank>`, `c:<controller>` or `gateway`; `ended` is None while it lasts; a note and a dry report begin and end at once.

    `seen`: its beginning is among the events.
    """

    where: str
    family: Family
    began: datetime
    ended: datetime | None
    text: str = ""
    seen: bool = True

    def until(self, now: datetime) -> datetime:
        """Its end, or now."""
        return self.ended or now

    def lasted(self, now: datetime) -> timedelta:
        """How long, up to now."""
        return self.until(now) - self.began


def episodes_of(events: Iterable[Event]) -> tuple[Episode, ...]:
    """The episodes and moments, in the order in which they began."""
    episodes: list[Episode] = []
    begun: dict[tuple[str, Family], datetime] = {}
    for event in events:
        place, kind = place_of(event), KINDS.get(event.kind)
        if kind is None:
            continue
        if kind.moment is not None:
            episodes.append(_moment(event, kind.moment))
        elif kind.begins_episode is not None:
            begun.setdefault((place, kind.begins_episode), event.at)
        elif kind.ends_episode is not None:
            episodes += _ended(event, kind.ends_episode, begun.pop((place, kind.ends_episode), None))
    # whether it is still off is not to be known by its record alone: it may have been cut off since it was started, or be at work
    lasting = ((place, family, at) for (place, family), at in begun.items() if family != "off")
    episodes += [Episode(where=place, family=family, began=at, ended=None) for place, family, at in lasting]
    return tuple(sorted(episodes, key=lambda episode: episode.began))


def place_of(event: Event) -> str:
    """Whose event it is: `t:<tank>`, `c:<controller>` or `gateway`."""
    return f"t:{event.tank}" if event.tank else f"c:{event.controller}" if event.controller else GATEWAY


def of(episodes: Sequence[Episode], where: str, family: Family) -> list[Episode]:
    """The episodes of one place and family."""
    return [episode for episode in episodes if episode.where == where and episode.family == family]


def low_figures(events: Iterable[Event], tank: str, since: datetime, until: datetime) -> EpisodeFigures:
    """How often and how long a tank was low within a time, by its events (oldest first)."""
    within = episodes_of(event for event in events if event.tank == tank and since <= event.at <= until)
    lows = [episode for episode in within if episode.family == "low" and episode.seen]
    lasted, over = [low.lasted(until) for low in lows], [low.ended is not None for low in lows]
    return episode_figures(lasted, over, until - since)


def _moment(event: Event, family: Family) -> Episode:
    return Episode(where=place_of(event), family=family, began=event.at, ended=event.at, text=event.text or "")


def _ended(end: Event, family: Family, begun: datetime | None) -> list[Episode]:
    """The episode that an event ended; none where nobody can know when it began."""
    began = begun or _began_by(end)
    if began is None or began > end.at:
        return []
    return [Episode(where=place_of(end), family=family, began=began, ended=end.at, seen=begun is not None)]


def _began_by(end: Event) -> datetime | None:
    """An end that says how long it lasted, or since when the gateway was off; a first idle reading ends nothing."""
    if end.detail.get("first"):
        return None
    since = end.detail.get("from") if end.kind == "gateway-started" else None
    if isinstance(since, str):
        return datetime.fromisoformat(since)
    lasted = end.detail.get("lasted_s")
    return end.at - timedelta(seconds=lasted) if isinstance(lasted, int | float) and lasted > 0 else None
