"""Questions to the store: rows → facts. Implements gateway.ports.Reader."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import ColumnElement, Table, and_, func, or_, select

from gateway.facts import Event, Message
from gateway.ports import CallOutRow, PauseRow, StoredPart, StoredText
from gateway.storage import tables as t
from gateway.storage.rows import call_out_of, event_of, message_of, part_of, pause_of, text_of
from gateway.storage.summaries import HANDED_STATES, SqlSummaries
from gateway.storage.values import from_json, micros, moment, moment_or_none

OPEN_STATES = ("waiting", "held", "sending", "unsure")
LAST_FEW = 20
REPORT_WITHIN_US = 5 * 86_400 * 1_000_000
"""A report that comes later than five days is not of this use of the modem's 8-bit reference."""


class SqlReader(SqlSummaries):
    """One snapshot of the store."""

    # texts ---------------------------------------------------------------------------------

    def known_arrival(self, key: str, memory: str, slot: int | None, *, stamped: bool) -> bool:
        """See the port."""
        query = select(t.arrivals.c.id).where(t.arrivals.c.site == self._site, t.arrivals.c.key == key)
        if not stamped:
            query = query.where(t.arrivals.c.memory == memory, t.arrivals.c.slot == slot, t.arrivals.c.freed.is_(False))
        return self._one(query.limit(1)) is not None

    def waiting_parts(self, number: str, reference: int, total: int) -> tuple[StoredPart, ...]:
        """See the port."""
        query = select(t.parts).where(
            t.parts.c.site == self._site,
            t.parts.c.number == number,
            t.parts.c.reference == reference,
            t.parts.c.total == total,
        )
        return tuple(part_of(row) for row in self._all(query.order_by(t.parts.c.id)))

    def parts_heard_before(self, when: datetime) -> tuple[StoredPart, ...]:
        """See the port."""
        query = select(t.parts).where(t.parts.c.site == self._site, t.parts.c.heard_at <= micros(when))
        return tuple(part_of(row) for row in self._all(query.order_by(t.parts.c.id)))

    def oldest_part(self) -> datetime | None:
        """See the port."""
        return moment_or_none(self._value(select(func.min(t.parts.c.heard_at)).where(t.parts.c.site == self._site)))

    def texts(
        self, *, since: datetime | None = None, limit: int | None = None, all_sites: bool = False
    ) -> tuple[StoredText, ...]:
        """See the port."""
        query = select(t.texts).order_by(t.texts.c.at.desc(), t.texts.c.id.desc())
        if not all_sites:
            query = query.where(t.texts.c.site == self._site)
        if since is not None:
            query = query.where(t.texts.c.at >= micros(since))
        if limit is not None:
            query = query.limit(limit)
        return tuple(text_of(row) for row in reversed(self._all(query)))

    def last_heard(self, controller: str, *, known_by: datetime | None = None) -> datetime | None:
        """See the port."""
        times = self.heard_times(controller, limit=1, known_by=known_by)
        return times[-1] if times else None

    def heard_times(self, controller: str, *, limit: int, known_by: datetime | None = None) -> tuple[datetime, ...]:
        """See the port."""
        query = select(t.texts.c.at).where(
            t.texts.c.site == self._site, t.texts.c.controller == controller, t.texts.c.way == "in"
        )
        if known_by is not None:
            query = query.where(t.texts.c.known_at <= micros(known_by), t.texts.c.at <= micros(known_by))
        rows = self._all(query.order_by(t.texts.c.at.desc()).limit(limit))
        return tuple(moment(row[0]) for row in reversed(rows))

    # events --------------------------------------------------------------------------------

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
        """See the port."""
        c = t.events.c
        bounds = [
            None if all_sites else c.site == self._site,
            None if since is None else c.at >= micros(since),
            None if until is None else c.at <= micros(until),
            None if known_by is None else c.known_at <= micros(known_by),
            None if tank is None else c.tank == tank,
            None if controller is None else c.controller == controller,
            None if kinds is None else c.kind.in_(list(kinds)),
        ]
        query = select(t.events).where(*(bound for bound in bounds if bound is not None))
        query = query.order_by(c.at.desc(), c.id.desc())
        if limit is not None:
            query = query.limit(limit)
        return tuple(event_of(row) for row in reversed(self._all(query)))

    def last_event(
        self,
        kinds: Iterable[str],
        *,
        tank: str | None = None,
        controller: str | None = None,
        input: str | None = None,
        known_by: datetime | None = None,
    ) -> Event | None:
        """See the port."""
        c = t.events.c
        found: list[Event] = []
        for kind in kinds:
            query = select(t.events).where(c.site == self._site, c.kind == kind)
            for column, value in ((c.tank, tank), (c.controller, controller), (c.input, input)):
                if value is not None:
                    query = query.where(column == value)
            if known_by is not None:
                query = query.where(c.known_at <= micros(known_by))
            row = self._one(query.order_by(c.at.desc(), c.id.desc()).limit(1))
            if row is not None:
                found.append(event_of(row))
        return max(found, key=lambda event: (event.at, event.id or 0), default=None)

    def last_kept(self, before: datetime) -> datetime | None:
        """See the port; of each kind the last few rows are looked at, which no wrong clock can all have written."""
        found: list[int] = []
        for table, column in ((t.events, t.events.c.heard_at), (t.texts, t.texts.c.known_at)):
            query = select(column).where(table.c.site == self._site).order_by(table.c.id.desc()).limit(LAST_FEW)
            found += [row[0] for row in self._all(query)]
        handed = t.texts.c.handed_at
        query = select(func.max(handed)).where(t.texts.c.site == self._site, handed < micros(before))
        found.append(self._value(query) or 0)
        return moment_or_none(max((at for at in found if 0 < at < micros(before)), default=None))

    def last_id(self, table: Literal["events", "texts"]) -> int:
        """See the port."""
        return int(self._value(select(func.max((t.events if table == "events" else t.texts).c.id))) or 0)

    # outbox --------------------------------------------------------------------------------

    def message(self, id: int) -> Message | None:
        """See the port."""
        row = self._one(select(t.texts).where(*self._mine(t.texts, id), t.texts.c.way == "out"))
        return None if row is None else message_of(row)

    def outbox(self) -> tuple[Message, ...]:
        """See the port."""
        c = t.texts.c
        query = select(t.texts).where(c.site == self._site, c.way == "out", c.state.in_(OPEN_STATES))
        return tuple(message_of(row) for row in self._all(query.order_by(c.urgent.desc(), c.at, c.id)))

    def sent_since(self, when: datetime, *, contact: str | None = None) -> int:
        """See the port."""
        c = t.texts.c
        query = select(func.coalesce(func.sum(c.segments), 0)).where(
            c.site == self._site, c.handed_at >= micros(when), c.state.in_(HANDED_STATES)
        )
        if contact is not None:
            query = query.where(c.contact == contact)
        return int(self._value(query))

    def handed_over(self, since: datetime) -> tuple[tuple[str | None, datetime, int], ...]:
        """See the port."""
        c = t.texts.c
        query = select(c.contact, c.handed_at, c.segments).where(c.site == self._site, c.handed_at >= micros(since))
        return tuple((row[0], moment(row[1]), row[2]) for row in self._all(query.order_by(c.handed_at)))

    def messages_of(self, *, call_out: int) -> tuple[Message, ...]:
        """See the port."""
        query = select(t.texts).where(t.texts.c.site == self._site, t.texts.c.call_out == call_out)
        return tuple(message_of(row) for row in self._all(query.order_by(t.texts.c.id)))

    def whose_reference(self, reference: int, number: str) -> tuple[int, int] | None:
        """See the port."""
        c = t.segments.c
        newest = self._value(select(func.max(c.at)).where(c.site == self._site))
        if newest is None:
            return None
        query = select(c.text, c.segment).where(
            c.site == self._site,
            c.reference == reference,
            c.number == number,
            c.outcome.in_(("", "trying")),
            c.at >= newest - REPORT_WITHIN_US,
        )
        row = self._one(query.order_by(c.id.desc()).limit(1))
        return None if row is None else (row[0], row[1])

    # durable state -------------------------------------------------------------------------

    def mark(self, key: str) -> Any:
        """See the port."""
        value = self._value(select(t.marks.c.value).where(t.marks.c.site == self._site, t.marks.c.key == key))
        return None if value is None else from_json(value)

    def marks(self, prefix: str) -> dict[str, Any]:
        """See the port."""
        c = t.marks.c
        query = select(c.key, c.value).where(c.site == self._site, func.substr(c.key, 1, len(prefix)) == prefix)
        return {row[0]: from_json(row[1]) for row in self._all(query)}

    def call_outs(self, *, open_only: bool = True) -> tuple[CallOutRow, ...]:
        """See the port."""
        query = select(t.call_outs).where(t.call_outs.c.site == self._site)
        if open_only:
            query = query.where(t.call_outs.c.closed_at.is_(None))
        return tuple(call_out_of(row) for row in self._all(query.order_by(t.call_outs.c.id)))

    def pauses(self, *, known_by: datetime | None = None) -> tuple[PauseRow, ...]:
        """See the port; with `known_by` also those that ended since."""
        c = t.pauses.c
        query = select(t.pauses).where(c.site == self._site)
        if known_by is None:
            query = query.where(c.ended.is_(False))
        else:
            asked = micros(known_by)
            query = query.where(or_(c.ended.is_(False), and_(c.since <= asked, c.until > asked)))
        return tuple(pause_of(row) for row in self._all(query.order_by(c.id)))

    def others(self, key: str) -> dict[str, Any]:
        """See the port."""
        query = select(t.marks.c.site, t.marks.c.value).where(t.marks.c.key == key, t.marks.c.site != self._site)
        return {row[0]: from_json(row[1]) for row in self._all(query.order_by(t.marks.c.site))}

    def of_site(self, site: str) -> "SqlReader":
        """See the port."""
        return SqlReader(self._connection, site)

    # ---------------------------------------------------------------------------------------

    def _mine(self, table: Table, id: int) -> tuple[ColumnElement[bool], ...]:
        """The row of that id, if it is of this site."""
        return table.c.site == self._site, table.c.id == id

    def _all(self, query: Any) -> Sequence[Any]:
        return self._connection.execute(query).all()

    def _one(self, query: Any) -> Any:
        return self._connection.execute(query).first()

    def _value(self, query: Any) -> Any:
        return self._connection.execute(query).scalar()
