"""The newest events of some kinds: read once a connection, and added to with what it keeps itself.

What is kept is the connection's own (`Talk.kept`), which forgets it as soon as anybody else wrote, or what it wrote itself was given up.
"""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from gateway.facts import Event
from gateway.ports import Past
from gateway.storage.talk import Talk
from gateway.storage.values import micros, moment


@dataclass(frozen=True, slots=True)
class _Asked:
    site: str
    kinds: tuple[str, ...]
    limit: int


@dataclass(slots=True)
class _Newest:
    """Oldest first; `known_by`: when the last of them was known."""

    past: list[Past]
    known_by: datetime


def newest_of(talk: Talk, site: str, kinds: Iterable[str], known_by: datetime, limit: int) -> tuple[Past, ...]:
    """The newest so many of these kinds known by then, newest last."""
    asked = _Asked(site, tuple(kinds), limit)
    kept: _Newest | None = talk.kept.get(asked)
    if kept is None:
        rows = _read(talk, asked, None)
        kept = _Newest([_past(row) for row in rows], moment(max((row[3] for row in rows), default=0)))
        talk.kept[asked] = kept
    if kept.known_by <= known_by:
        return tuple(kept.past)
    return tuple(_past(row) for row in _read(talk, asked, known_by))


def add(talk: Talk, site: str, event: Event) -> None:
    """An event was stored by this connection."""
    for asked, kept in talk.kept.items():
        if asked.site == site and event.kind in asked.kinds:
            place = bisect_right(kept.past, event.at, key=lambda one: one.at)
            kept.past.insert(place, Past(event.kind, event.tank, event.at))
            kept.known_by = max(kept.known_by, event.known_at)
            del kept.past[: -asked.limit]


def _read(talk: Talk, asked: _Asked, known_by: datetime | None) -> list[Any]:
    """Kind by kind, so that each is read off its index from the newest on; oldest first."""
    named = {f"kind{place}": kind for place, kind in enumerate(asked.kinds)}
    known = "AND known_at <= :known_by" if known_by is not None else ""
    newest = " UNION ALL ".join(
        f"SELECT * FROM (SELECT kind, tank, at, known_at, id FROM events WHERE site = :site AND kind = :{name} {known} "
        f"ORDER BY at DESC, id DESC LIMIT :limit) AS {name}"
        for name in named
    )
    values = {"site": asked.site, "limit": asked.limit, "known_by": micros(known_by) if known_by else None, **named}
    return list(reversed(talk.all(f"{newest} ORDER BY at DESC, id DESC LIMIT :limit", values)))


def _past(row: Any) -> Past:
    return Past(row[0], row[1], moment(row[2]))
