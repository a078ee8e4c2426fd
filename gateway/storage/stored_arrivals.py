"""PDUs as the modem held them, and the parts of long texts that wait for the others."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import and_, bindparam, delete, false, func, select, update

from gateway.facts import HeldPdu, PartOf
from gateway.ports import Arrival, StoredPart
from gateway.storage.tables import arrivals, here, parts, this_row
from gateway.storage.transactions import TableReader, TableWriter

_IN_SLOT = (
    select(arrivals.c.id)
    .where(
        here(arrivals),
        arrivals.c.key == bindparam("key"),
        arrivals.c.memory == bindparam("memory"),
        arrivals.c.slot == bindparam("slot"),
        arrivals.c.freed == false(),
    )
    .limit(1)
)
# a repeat's row carries no PDU of its own, nor does one that was forgotten or whose PDU was erased
_LAST = (
    select(arrivals.c.id, arrivals.c.heard_at)
    .where(here(arrivals), arrivals.c.key == bindparam("key"))
    # a repeat has no octets of its own, and no time counts from it; nor have old ones any more. A clock that was set right after it woke in
    # 1970 makes the last minute's old: its repeat once came unmarked
    .order_by((arrivals.c.pdu != "").desc(), arrivals.c.id.desc())
    .limit(1)
)
_later = arrivals.alias("later")
# the later site as an expression keeps SQLite off the indexes that begin with the site: it would read all of that site's rows, where the
# few newest are enough
_OTHERS_SINCE = (
    select(func.count(_later.c.key.distinct()))
    .select_from(arrivals)
    .join(
        _later,
        and_(_later.c.id > arrivals.c.id, _later.c.key != arrivals.c.key, _later.c.site.concat("") == arrivals.c.site),
    )
    .where(*this_row(arrivals), _later.c.number == bindparam("number"))
)
_PARTS = select(
    *(parts.c[name] for name in ("id", "number", "reference", "part", "total", "text", "stamp", "heard_at"))
).where(here(parts))
_PARTS_OF = _PARTS.where(
    parts.c.number == bindparam("number"),
    parts.c.reference == bindparam("reference"),
    parts.c.total == bindparam("total"),
).order_by(parts.c.id)
_PARTS_BEFORE = _PARTS.where(parts.c.heard_at <= bindparam("before")).order_by(parts.c.id)
_OLDEST_PART = select(func.min(parts.c.heard_at)).where(here(parts))
_DROP_PART = delete(parts).where(*this_row(parts))
_FREED = (
    update(arrivals)
    .where(
        here(arrivals),
        arrivals.c.memory == bindparam("in_memory"),
        arrivals.c.slot == bindparam("in_slot"),
        arrivals.c.freed == false(),
    )
    .values(freed=True)
)
_old_raw = (here(arrivals), arrivals.c.heard_at < bindparam("before"), arrivals.c.pdu != "")
_OLD_RAW = select(arrivals.c.id).where(*_old_raw).limit(1)
_ERASE_RAW = update(arrivals).where(*_old_raw).values(pdu="")


class ArrivalReader(TableReader):
    def stored_in_slot(self, key: str, memory: str, slot: int | None) -> bool:
        return self._value(_IN_SLOT, key=key, memory=memory, slot=slot) is not None

    def last_arrival(self, key: str) -> Arrival | None:
        row = self._first(_LAST, key=key)
        return None if row is None else Arrival(**row._mapping)

    def others_since(self, arrival: int, number: str) -> int:
        return int(self._value(_OTHERS_SINCE, its_id=arrival, number=number) or 0)

    def raw_heard_before(self, when: datetime) -> bool:
        return self._value(_OLD_RAW, before=when) is not None

    def waiting_parts(self, number: str, reference: int, total: int) -> tuple[StoredPart, ...]:
        return tuple(map(_part_of, self._all(_PARTS_OF, number=number, reference=reference, total=total)))

    def parts_heard_before(self, when: datetime) -> tuple[StoredPart, ...]:
        return tuple(map(_part_of, self._all(_PARTS_BEFORE, before=when)))

    def oldest_part(self) -> datetime | None:
        oldest: datetime | None = self._value(_OLDEST_PART)
        return oldest


class ArrivalWriter(ArrivalReader, TableWriter):
    def keep_arrival(
        self, key: str, held: HeldPdu, heard_at: datetime, *, number: str = "", repeat: bool = False
    ) -> int:
        return self._insert(
            arrivals,
            key=key,
            memory=held.memory,
            slot=held.slot,
            pdu="" if repeat else held.pdu,
            number=number,
            heard_at=heard_at,
            freed=held.slot is None,
        )

    def keep_part(
        self, arrival: int, number: str, part: PartOf, text: str, stamp: datetime | None, heard_at: datetime
    ) -> None:
        self._insert(
            parts,
            arrival=arrival,
            number=number,
            reference=part.reference,
            part=part.number,
            total=part.total,
            text=text,
            stamp=stamp,
            heard_at=heard_at,
        )

    def drop_parts(self, ids: Iterable[int]) -> None:
        for id in ids:
            self._change(_DROP_PART, its_id=id)

    def slot_freed(self, memory: str, slot: int) -> None:
        self._change(_FREED, in_memory=memory, in_slot=slot)

    def slots_freed(self, slots: Iterable[tuple[str, int | None]]) -> None:
        for memory, slot in slots:
            if slot is not None:
                self.slot_freed(memory, slot)

    def prune_raw(self, before: datetime) -> int:
        erased = self._change(_ERASE_RAW, before=before)
        if erased:
            self._leave_no_trace()
        return erased


def _part_of(row: Any) -> StoredPart:
    id, number, reference, part, total, text, stamp, heard_at = row
    return StoredPart(
        id=id,
        number=number,
        part=PartOf(reference=reference, number=part, total=total),
        text=text,
        stamp=stamp,
        heard_at=heard_at,
    )
