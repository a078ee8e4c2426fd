"""Events → episodes: stretches of time in which something was not well, of a tank, a controller or the gateway; low ones in figures too.

An end whose beginning is not among the events still tells when it began, by how long it lasted; figures do not count it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import KINDS, Event, kinds_where
from gateway.facts.kinds import Family
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


def place_of(event: Event) -> str:
    """Whose event it is."""
    return f"t:{event.tank}" if event.tank else f"c:{event.controller}" if event.controller else GATEWAY


def episodes_of(events: Iterable[Event]) -> tuple[Episode, ...]:
    """The episodes, in the order in which they began."""
    found: list[Episode] = []
    open_ones: dict[tuple[str, Family], datetime] = {}
    for event in events:
        where = place_of(event)
        kind = KINDS.get(event.kind)
        if kind is None:
            continue
        if kind.moment is not None:
            found.append(
                Episode(where=where, family=kind.moment, began=event.at, ended=event.at, text=event.text or "")
            )
        elif kind.begins_episode is not None:
            open_ones.setdefault((where, kind.begins_episode), event.at)
        elif kind.ends_episode is not None:
            family = kind.ends_episode
            seen = open_ones.pop((where, family), None)
            began = seen or _began_by(event)
            if began is not None and began <= event.at:
                found.append(Episode(where=where, family=family, began=began, ended=event.at, seen=seen is not None))
    found += [
        Episode(where=where, family=family, began=began, ended=None)
        for (where, family), began in open_ones.items()
        if family != "off"
    ]
    return tuple(sorted(found, key=lambda one: one.began))


def of(episodes: Sequence[Episode], where: str, family: Family) -> list[Episode]:
    """Those of one place and kind."""
    return [one for one in episodes if one.where == where and one.family == family]


def low_figures(events: Iterable[Event], tank: str, since: datetime, until: datetime) -> EpisodeFigures:
    """How often and how long a tank was low within a time, by its events (oldest first)."""
    within = episodes_of(one for one in events if one.tank == tank and since <= one.at <= until)
    found = [one for one in within if one.family == "low" and one.seen]
    lasted, over = [one.lasted(until) for one in found], [one.ended is not None for one in found]
    return episode_figures(lasted, over, until - since)


def _began_by(end: Event) -> datetime | None:
    """An end that says how long it lasted, or since when the gateway was off; a first idle reading ends nothing."""
    if end.detail.get("first"):
        return None
    since = end.detail.get("from") if end.kind == "gateway-started" else None
    if isinstance(since, str):
        return datetime.fromisoformat(since)
    lasted = end.detail.get("lasted_s")
    return end.at - timedelta(seconds=lasted) if isinstance(lasted, int | float) and lasted > 0 else None
