"""Pauses: work on a tank, during which its messages are held."""

from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, and_, bindparam, exists, false, or_, select, update

from gateway.ports import PauseRow
from gateway.storage.column_types import UtcMicros
from gateway.storage.tables import here, pauses, this_row
from gateway.storage.transactions import TableReader, TableWriter

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


class PauseReader(TableReader):
    def pauses(self, *, known_by: datetime | None = None) -> tuple[PauseRow, ...]:
        """With `known_by` also those that ended since, but for what another one had replaced by then."""
        rows = self._all(_NOT_TOLD) if known_by is None else self._all(_AS_KNOWN_THEN, then=known_by)
        return tuple(_pause_of(row) for row in rows)


class PauseWriter(PauseReader, TableWriter):
    def put_pause(self, tank: str, since: datetime, until: datetime, by: str | None) -> int:
        """A pause that still runs on that tank is replaced."""
        self._change(_REPLACE, its_tank=tank, ended=True)
        return self._insert(pauses, tank=tank, since=since, until=until, by=by, ended=False)

    def end_pause(self, id: int) -> None:
        self._change(_END_ONE, its_id=id, ended=True)


def _pause_of(row: Any) -> PauseRow:
    return PauseRow(**row._mapping)
