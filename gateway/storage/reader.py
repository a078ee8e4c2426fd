"""Questions to the store: rows → facts. Implements gateway.ports.Reader."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Literal

from gateway.facts import Event, Message
from gateway.ports import Arrival, CallOutRow, Past, PauseRow, StoredPart, StoredText
from gateway.storage.newest import newest_of
from gateway.storage.rows import (
    CALL_OUT,
    EVENT,
    MESSAGE,
    PART,
    PAUSE,
    TEXT,
    call_out_of,
    event_of,
    message_of,
    part_of,
    pause_of,
    text_of,
)
from gateway.storage.summaries import HANDED_STATES, SqlSummaries, names_of
from gateway.storage.values import from_json, micros, micros_or_none, moment, moment_or_none

OPEN_STATES = "('waiting', 'held', 'sending', 'unsure')"
LAST_FEW = 20
BY_TIME, BY_ARRIVAL = "at DESC, id DESC", "id DESC"
REPORT_WITHIN_US = 5 * 86_400 * 1_000_000
"""A report that comes later than five days is not of this use of the modem's 8-bit reference. Counted to the newest segment in the
store, so that a step of the clock costs no report."""


class SqlReader(SqlSummaries):
    """One snapshot of the store."""

    # texts ---------------------------------------------------------------------------------

    def stored_in_slot(self, key: str, memory: str, slot: int | None) -> bool:
        """See the port."""
        query = (
            'SELECT id FROM arrivals WHERE site = :site AND "key" = :key '
            "AND memory = :memory AND slot = :slot AND freed = FALSE LIMIT 1"
        )
        return self._value(query, key=key, memory=memory, slot=slot) is not None

    def last_arrival(self, key: str) -> Arrival | None:
        """See the port; a repeat's row carries no PDU of its own, nor does one that was forgotten or is older than 400 days."""
        query = (
            'SELECT id, heard_at FROM arrivals WHERE site = :site AND "key" = :key '
            "AND pdu <> '' ORDER BY id DESC LIMIT 1"
        )
        row = self._one(query, key=key)
        return None if row is None else Arrival(id=row[0], heard_at=moment(row[1]))

    def others_since(self, arrival: int, number: str) -> int:
        """See the port."""
        # `site || ''` keeps SQLite off the indexes that begin with the site: it would read all of that site's rows, where
        # the few newest are enough.
        query = (
            'SELECT count(DISTINCT later."key") FROM arrivals AS this JOIN arrivals AS later ON later.id > this.id '
            'AND later."key" <> this."key" AND later.site || \'\' = this.site '
            "WHERE this.site = :site AND this.id = :arrival AND later.number = :number"
        )
        return int(self._value(query, arrival=arrival, number=number) or 0)

    def waiting_parts(self, number: str, reference: int, total: int) -> tuple[StoredPart, ...]:
        """See the port."""
        rows = self._all(
            f"SELECT {PART} FROM parts WHERE site = :site AND number = :number AND reference = :reference "
            "AND total = :total ORDER BY id",
            number=number,
            reference=reference,
            total=total,
        )
        return tuple(map(part_of, rows))

    def parts_heard_before(self, when: datetime) -> tuple[StoredPart, ...]:
        """See the port."""
        query = f"SELECT {PART} FROM parts WHERE site = :site AND heard_at <= :when ORDER BY id"
        return tuple(map(part_of, self._all(query, when=micros(when))))

    def oldest_part(self) -> datetime | None:
        """See the port."""
        return moment_or_none(self._value("SELECT min(heard_at) FROM parts WHERE site = :site"))

    def texts(
        self, *, since: datetime | None = None, limit: int | None = None, all_sites: bool = False
    ) -> tuple[StoredText, ...]:
        """See the port."""
        where = _where({"site = :site": not all_sites, "at >= :since": since})
        query = f"SELECT {TEXT} FROM texts {where} ORDER BY at DESC, id DESC {_limit(limit)}"
        rows = self._all(query, since=micros_or_none(since), limit=limit)
        return tuple(map(text_of, reversed(rows)))

    def last_heard(self, controller: str, *, known_by: datetime | None = None) -> datetime | None:
        """See the port."""
        times = self.heard_times(controller, limit=1, known_by=known_by)
        return times[-1] if times else None

    def heard_times(self, controller: str, *, limit: int, known_by: datetime | None = None) -> tuple[datetime, ...]:
        """See the port."""
        then = "AND known_at <= :known_by AND at <= :known_by" if known_by is not None else ""
        rows = self._all(
            f"SELECT at FROM texts WHERE site = :site AND controller = :controller AND way = 'in' {then} "
            "ORDER BY at DESC LIMIT :limit",
            controller=controller,
            known_by=micros_or_none(known_by),
            limit=limit,
        )
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
        named = {} if kinds is None else {f"kind{place}": kind for place, kind in enumerate(kinds)}
        of_kinds = f"kind IN ({names_of(named)})"
        where = _where(
            {
                "site = :site": not all_sites,
                "at >= :since": since,
                "at <= :until": until,
                "known_at <= :known_by": known_by,
                "tank = :tank": tank is not None,
                "controller = :controller": controller is not None,
                of_kinds: kinds is not None,
            }
        )
        query = f"SELECT {EVENT} FROM events {where} ORDER BY at DESC, id DESC {_limit(limit)}"
        times = {"since": micros_or_none(since), "until": micros_or_none(until), "known_by": micros_or_none(known_by)}
        rows = self._all(query, tank=tank, controller=controller, limit=limit, **times, **named)
        return tuple(map(event_of, reversed(rows)))

    def past(self, kinds: Iterable[str], *, known_by: datetime, limit: int) -> tuple[Past, ...]:
        """See the port."""
        return newest_of(self._talk, self._site, kinds, known_by, limit)

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
        bounds: dict[str, object] = {
            "tank = :tank": tank is not None,
            "controller = :controller": controller is not None,
            "input = :input": input is not None,
            "known_at <= :known_by": known_by,
        }
        about = {"tank": tank, "controller": controller, "input": input, "known_by": micros_or_none(known_by)}
        kinds = tuple(kinds)
        newest = self._last_event(kinds, bounds, about, BY_TIME)
        if newest is None or known_by is None or newest.at <= known_by:
            return newest
        by_then = self._last_event(kinds, {**bounds, "at <= :known_by": True}, about, BY_TIME)
        ahead = self._last_event(kinds, {**bounds, "at > :known_by": True}, about, BY_ARRIVAL)
        return max((event for event in (by_then, ahead) if event), key=lambda event: event.id or 0)

    def _last_event(
        self, kinds: Sequence[str], bounds: dict[str, object], about: dict[str, Any], order: str
    ) -> Event | None:
        where = _where({"site = :site AND kind = :kind": True, **bounds})
        query = f"SELECT {EVENT} FROM events {where} ORDER BY {order} LIMIT 1"
        rows = (self._one(query, kind=kind, **about) for kind in kinds)
        events = [event_of(row) for row in rows if row is not None]
        return max(events, key=lambda event: (event.at if order == BY_TIME else moment(0), event.id or 0), default=None)

    def last_kept(self, before: datetime) -> datetime | None:
        """See the port; of each kind the last few rows are looked at, which no wrong clock can all have written."""
        heard = "SELECT heard_at FROM events WHERE site = :site ORDER BY id DESC LIMIT :few"
        known = "SELECT known_at FROM texts WHERE site = :site ORDER BY id DESC LIMIT :few"
        found = [row[0] for query in (heard, known) for row in self._all(query, few=LAST_FEW)]
        handed = "SELECT max(handed_at) FROM texts WHERE site = :site AND handed_at < :before"
        found.append(self._value(handed, before=micros(before)) or 0)
        return moment_or_none(max((at for at in found if 0 < at < micros(before)), default=None))

    def last_id(self, table: Literal["events", "texts"]) -> int:
        """See the port."""
        return int(self._value(f"SELECT max(id) FROM {table}") or 0)

    # outbox --------------------------------------------------------------------------------

    def message(self, id: int) -> Message | None:
        """See the port."""
        row = self._one(f"SELECT {MESSAGE} FROM texts WHERE site = :site AND id = :id AND way = 'out'", id=id)
        return None if row is None else message_of(row)

    def outbox(self, *, limit: int | None = None) -> tuple[Message, ...]:
        """See the port."""
        rows = self._all(
            f"SELECT {MESSAGE} FROM texts WHERE site = :site AND way = 'out' AND state IN {OPEN_STATES} "
            f"ORDER BY urgent DESC, at, id {_limit(limit)}",
            limit=limit,
        )
        return tuple(map(message_of, rows))

    def outbox_waits(self) -> bool:
        """See the port."""
        query = f"SELECT 1 FROM texts WHERE site = :site AND way = 'out' AND state IN {OPEN_STATES} LIMIT 1"
        return self._value(query) is not None

    def sent_since(self, when: datetime, *, contact: str | None = None) -> int:
        """See the port."""
        theirs = "AND contact = :contact" if contact is not None else ""
        query = (
            "SELECT coalesce(sum(segments), 0) FROM texts "
            f"WHERE site = :site AND handed_at >= :when AND state IN {HANDED_STATES} {theirs}"
        )
        return int(self._value(query, when=micros(when), contact=contact))

    def handed_over(self, since: datetime) -> tuple[tuple[str | None, datetime, int], ...]:
        """See the port."""
        rows = self._all(
            "SELECT contact, handed_at, segments FROM texts WHERE site = :site AND handed_at >= :since ORDER BY handed_at",
            since=micros(since),
        )
        return tuple((row[0], moment(row[1]), row[2]) for row in rows)

    def handed_count(self, since: datetime) -> int:
        """See the port."""
        query = "SELECT count(*) FROM texts WHERE site = :site AND handed_at >= :since"
        return int(self._value(query, since=micros(since)))

    def messages_of(self, *, call_out: int) -> tuple[Message, ...]:
        """See the port."""
        query = f"SELECT {MESSAGE} FROM texts WHERE site = :site AND call_out = :call_out ORDER BY id"
        return tuple(map(message_of, self._all(query, call_out=call_out)))

    def whose_reference(self, reference: int, number: str) -> tuple[int, int] | None:
        """See the port."""
        row = self._one(
            "SELECT text, segment FROM segments WHERE site = :site AND reference = :reference AND number = :number "
            "AND outcome IN ('', 'trying') AND at >= "
            "(SELECT at FROM segments WHERE id = (SELECT max(id) FROM segments)) - :within ORDER BY id DESC LIMIT 1",
            reference=reference,
            number=number,
            within=REPORT_WITHIN_US,
        )
        return None if row is None else (row[0], row[1])

    # durable state -------------------------------------------------------------------------

    def mark(self, key: str) -> Any:
        """See the port."""
        value = self._value('SELECT value FROM marks WHERE site = :site AND "key" = :key', key=key)
        return None if value is None else from_json(value)

    def marks(self, prefix: str) -> dict[str, Any]:
        """See the port."""
        query = 'SELECT "key", value FROM marks WHERE site = :site AND substr("key", 1, :length) = :prefix'
        return {row[0]: from_json(row[1]) for row in self._all(query, length=len(prefix), prefix=prefix)}

    def call_outs(self, *, open_only: bool = True) -> tuple[CallOutRow, ...]:
        """See the port."""
        which = "AND closed_at IS NULL" if open_only else ""
        return tuple(
            map(call_out_of, self._all(f"SELECT {CALL_OUT} FROM call_outs WHERE site = :site {which} ORDER BY id"))
        )

    def pauses(self, *, known_by: datetime | None = None) -> tuple[PauseRow, ...]:
        """See the port; with `known_by` also those that ended since, but for what another one had replaced by then."""
        which = "ended = FALSE"
        if known_by is not None:
            later = "SELECT 1 FROM pauses AS later WHERE later.site = :site AND later.tank = pauses.tank"
            which = (
                "(ended = FALSE OR (since <= :asked AND until > :asked)) "
                f"AND NOT EXISTS ({later} AND later.id > pauses.id AND later.since <= :asked)"
            )
        query = f"SELECT {PAUSE} FROM pauses WHERE site = :site AND {which} ORDER BY id"
        return tuple(map(pause_of, self._all(query, asked=micros_or_none(known_by))))

    def others(self, key: str) -> dict[str, Any]:
        """See the port."""
        query = 'SELECT site, value FROM marks WHERE "key" = :key AND site <> :site ORDER BY site'
        return {row[0]: from_json(row[1]) for row in self._all(query, key=key)}

    def of_site(self, site: str) -> "SqlReader":
        """See the port."""
        return SqlReader(self._talk, site)


def _where(bounds: dict[str, object]) -> str:
    """The bounds that are wanted, joined; nothing where none is."""
    wanted = " AND ".join(bound for bound, asked in bounds.items() if asked)
    return f"WHERE {wanted}" if wanted else ""


def _limit(limit: int | None) -> str:
    return "" if limit is None else "LIMIT :limit"
