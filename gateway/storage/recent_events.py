"""The newest events of some kinds: read once a connection, and added to with what the connection stores itself.

A forecast asks for the last four hundred with every text (`remembered.py` says when they are forgotten).
"""

from collections.abc import Iterable, MutableMapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Connection, Executable, Integer, bindparam, desc, select, union_all

from gateway.facts import Event
from gateway.ports import Past
from gateway.storage.remembered import LONG_AGO, Newest, remembered
from gateway.storage.tables import events, here


@dataclass(frozen=True, slots=True)
class _Asked:
    site: str
    kinds: tuple[str, ...]
    limit: int


def recent_events(
    connection: Connection, site: str, kinds: Iterable[str], known_by: datetime, limit: int
) -> tuple[Past, ...]:
    """The newest so many of these kinds known by then, newest last."""
    asked = _Asked(site, tuple(kinds), limit)
    kept = _remembered(connection)
    recent = kept.get(asked)
    if recent is None:
        rows = _read(connection, asked, None)
        recent = Newest([_past(row) for row in rows], max((row[3] for row in rows), default=LONG_AGO), limit)
        kept[asked] = recent
    if recent.known_by <= known_by:
        return tuple(recent.kept)
    return tuple(_past(row) for row in _read(connection, asked, known_by))


def remember_event(connection: Connection, site: str, event: Event) -> None:
    """An event was stored on this connection."""
    for asked, recent in _remembered(connection).items():
        if asked.site == site and event.kind in asked.kinds:
            recent.add(Past(event.kind, event.tank, event.at), event.known_at, lambda past: past.at)


def forget_events(connection: Connection) -> None:
    """An event was changed on this connection."""
    _remembered(connection).clear()


def _remembered(connection: Connection) -> MutableMapping[_Asked, Newest[Past]]:
    return remembered(connection, "recent-events")


def _read(connection: Connection, asked: _Asked, known_by: datetime | None) -> Sequence[Any]:
    """Oldest first."""
    values = {f"kind{place}": kind for place, kind in enumerate(asked.kinds)}
    statement = _newest(len(asked.kinds), known_by is not None)
    about = {"here": asked.site, "most": asked.limit, "known_by": known_by}
    return connection.execute(statement, {**about, **values}).all()[::-1]


@cache
def _newest(kinds: int, as_known_then: bool) -> Executable:
    """Kind by kind, so that each is read off its index from the newest on, however long the history is; together newest first."""
    most = bindparam("most", type_=Integer)
    columns = (events.c.kind, events.c.tank, events.c.at, events.c.known_at, events.c.id)
    of_any_kind = select(*columns).where(here(events)).order_by(events.c.at.desc(), events.c.id.desc()).limit(most)
    if as_known_then:
        of_any_kind = of_any_kind.where(events.c.known_at <= bindparam("known_by"))
    of_each = (of_any_kind.where(events.c.kind == bindparam(f"kind{place}")).subquery() for place in range(kinds))
    return union_all(*map(select, of_each)).order_by(desc("at"), desc("id")).limit(most)


def _past(row: Any) -> Past:
    return Past(row[0], row[1], row[2])
