"""Events: kept, and asked for by time, kind, tank and controller."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from functools import cache
from typing import Any, Literal

from sqlalchemy import Executable, Integer, bindparam, delete, func, select, update

from gateway.facts import Event
from gateway.ports import Past
from gateway.storage.recent_events import forget_events, recent_events, remember_event
from gateway.storage.tables import events, here, newest_first, texts, this_row
from gateway.storage.transactions import TableReader, TableWriter

LAST_FEW = 20
_LIMIT = bindparam("most", type_=Integer)
_COLUMNS = (
    *("id", "kind", "at", "heard_at", "known_at", "tank", "controller", "input", "text", "sender", "detail", "site"),
)
_BOUNDS = {
    "here": here(events),
    "since": events.c.at >= bindparam("since"),
    "until": events.c.at <= bindparam("until"),
    "known_by": events.c.known_at <= bindparam("known_by"),
    "at_by_then": events.c.at <= bindparam("known_by"),
    "at_ahead": events.c.at > bindparam("known_by"),
    "tank": events.c.tank == bindparam("tank"),
    "controller": events.c.controller == bindparam("controller"),
    "input": events.c.input == bindparam("input"),
    "kind": events.c.kind == bindparam("kind"),
    "kinds": events.c.kind.in_(bindparam("kinds", expanding=True)),
}
_EVENT = select(*(events.c[name] for name in _COLUMNS)).where(*this_row(events))
_EVENTS_AFTER = (
    select(*(events.c[name] for name in _COLUMNS))
    .where(events.c.site.concat("") == bindparam("here"), events.c.id > bindparam("after"))
    .order_by(events.c.id)
    .limit(_LIMIT)
)
"""The site as an expression, as in `newest_first`: ids are walked, and no index by site is sorted."""
_AHEAD = select(events.c.id).where(here(events), events.c.at > events.c.known_at).limit(1)
_CHANGE_EVENT = update(events).where(*this_row(events))
_RETIE_TEXTS = update(texts).where(here(texts), texts.c.event == bindparam("its_id")).values(event=bindparam("other"))
_DROP_EVENT = delete(events).where(*this_row(events))
_LAST_ID = {table.name: newest_first(table, table.c.id).limit(1) for table in (events, texts)}
_LAST_HEARD_AT = newest_first(events, events.c.heard_at).limit(LAST_FEW)
_LAST_KNOWN_AT = newest_first(texts, texts.c.known_at).limit(LAST_FEW)
_LAST_HANDED_AT = select(func.max(texts.c.handed_at)).where(here(texts), texts.c.handed_at < bindparam("before"))


class EventReader(TableReader):
    _ahead: bool | None = None

    def events(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        known_by: datetime | None = None,
        tank: str | None = None,
        controller: str | None = None,
        kinds: Iterable[str] | None = None,
        limit: int | None = None,
        all_sites: bool = False,
    ) -> tuple[Event, ...]:
        bounds: dict[str, Any] = {
            "here": None if all_sites else self._site,
            "since": since,
            "until": until,
            "known_by": known_by,
        }
        bounds |= {"tank": tank, "controller": controller, "kinds": None if kinds is None else tuple(kinds)}
        given = {name: value for name, value in bounds.items() if value is not None}
        rows = self._all(_events_within(tuple(given), limit is not None), **given, most=limit)
        return tuple(map(_event_of, reversed(rows)))

    def events_after(self, id: int, *, limit: int) -> tuple[Event, ...]:
        return tuple(map(_event_of, self._all(_EVENTS_AFTER, after=id, most=limit)))

    def event(self, id: int) -> Event | None:
        row = self._first(_EVENT, its_id=id)
        return None if row is None else _event_of(row)

    def each_event(self, *, since: datetime | None = None, tank: str | None = None) -> Iterator[Event]:
        given = {name: value for name, value in {"since": since, "tank": tank}.items() if value is not None}
        asked = _events_within(("here", *given), False, oldest_first=True)
        return map(_event_of, self._each(asked, **given))

    def past(self, kinds: Iterable[str], *, known_by: datetime, limit: int) -> tuple[Past, ...]:
        return recent_events(self._connection, self._site, kinds, known_by, limit)

    def last_event(
        self,
        kinds: Iterable[str],
        *,
        tank: str | None = None,
        controller: str | None = None,
        input: str | None = None,
        known_by: datetime | None = None,
    ) -> Event | None:
        bounds = {"tank": tank, "controller": controller, "input": input, "known_by": known_by}
        given = {name: value for name, value in bounds.items() if value is not None}
        kinds = tuple(kinds)
        newest = self._last(kinds, given, *(name for name in given if name != "known_by"))
        if newest is None or known_by is None or max(newest.at, newest.known_at) <= known_by:
            return newest
        by_then = self._last(kinds, given, *given, "at_by_then")
        # a wrong clock or an absurd stamp: what is ahead counts only until the next event is kept
        if not self._some_are_ahead(newest):
            return by_then
        ahead = self._last(kinds, given, *given, "at_ahead", by_id=True)
        return max((event for event in (by_then, ahead) if event), key=_by_id)

    def _some_are_ahead(self, newest: Event) -> bool:
        """Whether any event has a time to come from when it was kept; looked for once, for of an old time all that came since is looked
        through (20 ms in a record of 100,000 texts, for each of them when they are read again). Of now the newest tells it: a board
        whose clock is behind the network's looks through nothing."""
        if self._ahead is None:
            self._ahead = newest.at > newest.known_at or self._first(_AHEAD) is not None
        return self._ahead

    def _last(self, kinds: Iterable[str], given: dict[str, Any], *bounds: str, by_id: bool = False) -> Event | None:
        """Kind by kind, so that each is read off its index."""
        statement = _events_within(("here", "kind", *bounds), True, by_id=by_id)
        rows = (self._first(statement, kind=kind, **given, most=1) for kind in kinds)
        return max((_event_of(row) for row in rows if row), key=_by_id if by_id else _by_time, default=None)

    def last_kept(self, before: datetime) -> datetime | None:
        """Of each table the last few rows are looked at, which no wrong clock can all have written."""
        times = [row[0] for statement in (_LAST_HEARD_AT, _LAST_KNOWN_AT) for row in self._all(statement)]
        times.append(self._value(_LAST_HANDED_AT, before=before))
        return max((at for at in times if at is not None and at < before), default=None)

    def last_id(self, table: Literal["events", "texts"]) -> int:
        return int(self._value(_LAST_ID[table]) or 0)


class EventWriter(EventReader, TableWriter):
    def keep_event(self, event: Event) -> Event:
        id = self._insert(
            events,
            kind=event.kind,
            at=event.at,
            heard_at=event.heard_at,
            known_at=event.known_at,
            tank=event.tank,
            controller=event.controller,
            input=event.input,
            text=event.text,
            sender=event.sender,
            detail=dict(event.detail),
        )
        if event.at > event.known_at:
            self._ahead = True
        remember_event(self._connection, self._site, event)
        return replace(event, site=self._site, id=id)

    def change_event(self, id: int, kind: str, detail: Mapping[str, Any]) -> None:
        self._change(_CHANGE_EVENT, its_id=id, kind=kind, detail=dict(detail))
        forget_events(self._connection)

    def drop_event(self, id: int) -> None:
        self._change(_DROP_EVENT, its_id=id)
        forget_events(self._connection)

    def replace_event(self, id: int, by: int) -> None:
        self._change(_RETIE_TEXTS, its_id=id, other=by)
        self.drop_event(id)


@cache
def _events_within(
    bounds: tuple[str, ...], limited: bool, *, by_id: bool = False, oldest_first: bool = False
) -> Executable:
    """Newest first, if not told otherwise; built once for each set of bounds that is asked for."""
    asked = select(*(events.c[name] for name in _COLUMNS)).where(*(_BOUNDS[name] for name in bounds))
    if oldest_first:
        return asked.order_by(events.c.at, events.c.id)
    asked = asked.order_by(*(() if by_id else (events.c.at.desc(),)), events.c.id.desc())
    return asked.limit(_LIMIT) if limited else asked


def _event_of(row: Any) -> Event:
    return Event(**row._mapping)


def _by_id(event: Event) -> int:
    return event.id or 0


def _by_time(event: Event) -> tuple[datetime, int]:
    return event.at, _by_id(event)
