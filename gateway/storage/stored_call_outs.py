"""Call-outs from their opening to their end, and pauses: work on a tank, during which its messages are held."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, and_, bindparam, exists, false, or_, select, update

from gateway.ports import CallOutRow, PauseRow
from gateway.storage.tables import UtcMicros, call_outs, here, pauses, this_row
from gateway.storage.transactions import TableReader, TableWriter

_CALL_OUTS = (
    select(call_outs.c.id, call_outs.c.opened_at, call_outs.c.closed_at, call_outs.c.data)
    .where(here(call_outs))
    .order_by(call_outs.c.id)
)
_OPEN = _CALL_OUTS.where(call_outs.c.closed_at.is_(None))
_CHANGE_CALL_OUT = update(call_outs).where(*this_row(call_outs))

_PAUSES = (
    select(*(pauses.c[name] for name in ("id", "tank", "since", "until", "by", "ended")))
    .where(here(pauses))
    .order_by(pauses.c.id)
)
_NOT_TOLD = _PAUSES.where(pauses.c.ended == false())
_THEN: BindParameter[datetime] = bindparam("then", type_=UtcMicros)
_later = pauses.alias("later")
_REPLACED_BY_THEN = exists().where(
    _later.c.site == bindparam("here"),
    _later.c.tank == pauses.c.tank,
    _later.c.id > pauses.c.id,
    _later.c.since <= _THEN,
)
_AS_KNOWN_THEN = _PAUSES.where(
    or_(pauses.c.ended == false(), and_(pauses.c.since <= _THEN, pauses.c.until > _THEN)), ~_REPLACED_BY_THEN
)
_REPLACE = update(pauses).where(here(pauses), pauses.c.tank == bindparam("its_tank"), pauses.c.ended == false())
_END_ONE = update(pauses).where(*this_row(pauses))


class CallOutReader(TableReader):
    def call_outs(self, *, open_only: bool = True) -> tuple[CallOutRow, ...]:
        return tuple(_call_out_of(row) for row in self._all(_OPEN if open_only else _CALL_OUTS))

    def pauses(self, *, known_by: datetime | None = None) -> tuple[PauseRow, ...]:
        """With `known_by` also those that ended since, but for what another one had replaced by then."""
        rows = self._all(_NOT_TOLD) if known_by is None else self._all(_AS_KNOWN_THEN, then=known_by)
        return tuple(_pause_of(row) for row in rows)


class CallOutWriter(CallOutReader, TableWriter):
    def put_call_out(self, row: CallOutRow | None, *, opened_at: datetime, data: Mapping[str, Any]) -> CallOutRow:
        if row is not None:
            self.change_call_out(row.id, data)
            return CallOutRow(id=row.id, opened_at=row.opened_at, closed_at=row.closed_at, data=data)
        id = self._insert(call_outs, opened_at=opened_at, data=dict(data))
        return CallOutRow(id=id, opened_at=opened_at, closed_at=None, data=data)

    def change_call_out(self, id: int, data: Mapping[str, Any], *, closed_at: datetime | None = None) -> None:
        values = {"data": dict(data)} if closed_at is None else {"data": dict(data), "closed_at": closed_at}
        self._change(_CHANGE_CALL_OUT, its_id=id, **values)

    def put_pause(self, tank: str, since: datetime, until: datetime, by: str | None) -> int:
        """A pause that still runs on that tank is replaced."""
        self._change(_REPLACE, its_tank=tank, ended=True)
        return self._insert(pauses, tank=tank, since=since, until=until, by=by, ended=False)

    def end_pause(self, id: int) -> None:
        self._change(_END_ONE, its_id=id, ended=True)


def _call_out_of(row: Any) -> CallOutRow:
    return CallOutRow(**row._mapping)


def _pause_of(row: Any) -> PauseRow:
    return PauseRow(**row._mapping)
