"""Sums that the database makes by its indexes, so that a page of twenty years reads no more rows than a page of one."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Executable,
    Float,
    Text,
    bindparam,
    cast,
    func,
    literal,
    literal_column,
    select,
    type_coerce,
)
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement

from gateway.facts import NumberName
from gateway.ports.summaries import DayOfNumbers, EpisodeSum
from gateway.storage.column_types import UtcMicros
from gateway.storage.stored_messages import HANDED_STATES
from gateway.storage.tables import events, here, texts
from gateway.storage.transactions import TableReader

DAY = timedelta(days=1)
DAY_US = DAY // timedelta(microseconds=1)


class detail_number(FunctionElement[float]):
    """The number of that name in an event's detail; NULL where it has none. Here alone do the two databases speak differently."""

    type = Float()
    inherit_cache = True

    def __init__(self, name: str) -> None:
        super().__init__(type_coerce(events.c.detail, Text), literal(f"$.{name}"), literal(name))


@compiles(detail_number, "sqlite")
def _on_sqlite(element: detail_number, compiler: SQLCompiler, **how: Any) -> str:
    detail, path, _name = element.clauses
    return compiler.process(func.json_extract(detail, path), **how)


@compiles(detail_number, "postgresql")
def _on_postgresql(element: detail_number, compiler: SQLCompiler, **how: Any) -> str:
    detail, _path, name = element.clauses
    return compiler.process(cast(cast(detail, JSON).op("->>")(name), Float), **how)


_SINCE, _UNTIL = bindparam("since", type_=UtcMicros), bindparam("until", type_=UtcMicros)
_WITHIN = (here(events), events.c.at >= _SINCE, events.c.at < _UNTIL)
_FIRST_AT = select(events.c.at).where(here(events)).order_by(events.c.at, events.c.id).limit(1)
_COUNTED = select(func.count()).where(*_WITHIN, events.c.kind.in_(bindparam("kinds", expanding=True)))
_SEGMENTS = select(func.coalesce(func.sum(texts.c.segments), 0)).where(
    here(texts), texts.c.handed_at >= _SINCE, texts.c.handed_at < _UNTIL, texts.c.state.in_(HANDED_STATES)
)
_LASTED_S = detail_number("lasted_s")
_EPISODES = select(func.count(), func.coalesce(func.sum(_LASTED_S), 0.0)).where(
    *_WITHIN, events.c.kind == bindparam("over"), _LASTED_S >= 0
)
_EPISODES_OF_TANK = _EPISODES.where(events.c.tank == bindparam("tank"))
_NEXT_SITE = select(func.min(events.c.site)).where(events.c.site > bindparam("last"))


class Sums(TableReader):
    def first_event_at(self) -> datetime | None:
        first: datetime | None = self._value(_FIRST_AT)
        return first

    def numbers_by_day(
        self, number: NumberName, controller: str, since: datetime, until: datetime, *, within: tuple[float, float]
    ) -> tuple[DayOfNumbers, ...]:
        least, most = within
        rows = self._all(_by_day(number), controller=controller, since=since, until=until, least=least, greatest=most)
        return tuple(DayOfNumbers(day=since + row[0] * DAY, low=row[1], high=row[2]) for row in rows)

    def segments_between(self, since: datetime, until: datetime) -> int:
        return int(self._value(_SEGMENTS, since=since, until=until))

    def episodes_between(self, over: str, since: datetime, until: datetime, *, tank: str | None = None) -> EpisodeSum:
        statement = _EPISODES if tank is None else _EPISODES_OF_TANK
        ((count, seconds),) = self._all(statement, over=over, since=since, until=until, tank=tank)
        return EpisodeSum(count=count, lasted=timedelta(seconds=seconds))

    def counted(self, kinds: Iterable[str], since: datetime, until: datetime) -> int:
        return int(self._value(_COUNTED, kinds=tuple(kinds), since=since, until=until))

    def sites(self) -> tuple[str, ...]:
        """From one to the next by the index, not through every event."""
        sites = [""]
        while (following := self._value(_NEXT_SITE, last=sites[-1])) is not None:
            sites.append(following)
        return tuple(sites[1:])


@cache
def _by_day(number: NumberName) -> Executable:
    """(which day, lowest, highest), day by day from `since` on."""
    value = detail_number(number)
    day = ((type_coerce(events.c.at, BigInteger) - _SINCE) // literal_column(str(DAY_US), BigInteger)).label("day")
    return (
        select(day, func.min(value), func.max(value))
        .where(
            *_WITHIN,
            events.c.controller == bindparam("controller"),
            value.between(bindparam("least", type_=Float), bindparam("greatest", type_=Float)),
        )
        .group_by(day)
        .order_by(day)
    )
