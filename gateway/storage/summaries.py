"""Sums that the database makes by its indexes, so that a page of twenty years reads no more rows than a page of one.

Implements gateway.ports.Summaries. The two databases differ in one thing here: how a number is taken out of JSON.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import JSON, Connection, cast, func, select

from gateway.ports.summaries import DayOfNumbers, Number, SpellSum
from gateway.storage import tables as t
from gateway.storage.values import micros, moment, moment_or_none

HANDED_STATES = ("sent", "delivered", "unsure")
DAY = timedelta(days=1)
DAY_US = DAY // timedelta(microseconds=1)


class SqlSummaries:
    """The sums of one snapshot."""

    def __init__(self, connection: Connection, site: str) -> None:
        self._connection = connection
        self._site = site

    def first_event_at(self) -> datetime | None:
        """See the port."""
        c = t.events.c
        query = select(c.at).where(c.site == self._site).order_by(c.at, c.id).limit(1)
        return moment_or_none(self._connection.execute(query).scalar())

    def numbers_by_day(
        self, number: Number, controller: str, since: datetime, until: datetime, *, within: tuple[float, float]
    ) -> tuple[DayOfNumbers, ...]:
        """See the port."""
        c, start = t.events.c, micros(since)
        value = self._from_detail(number)
        query = (
            select(((c.at - start) // DAY_US).label("day"), func.min(value), func.max(value))
            .where(c.site == self._site, c.controller == controller, c.at >= start, c.at < micros(until))
            .where(value.between(*within))
            .group_by("day")
            .order_by("day")
        )
        rows = self._connection.execute(query).all()
        return tuple(DayOfNumbers(day=moment(start + int(row[0]) * DAY_US), low=row[1], high=row[2]) for row in rows)

    def segments_between(self, since: datetime, until: datetime) -> int:
        """See the port."""
        c = t.texts.c
        query = select(func.coalesce(func.sum(c.segments), 0)).where(
            c.site == self._site,
            c.handed_at >= micros(since),
            c.handed_at < micros(until),
            c.state.in_(HANDED_STATES),
        )
        return int(self._connection.execute(query).scalar() or 0)

    def spells_between(self, over: str, since: datetime, until: datetime, *, tank: str | None = None) -> SpellSum:
        """See the port."""
        c = t.events.c
        lasted = self._from_detail("lasted_s")
        query = select(func.count(), func.coalesce(func.sum(lasted), 0)).where(
            c.site == self._site, c.kind == over, c.at >= micros(since), c.at < micros(until), lasted >= 0
        )
        if tank is not None:
            query = query.where(c.tank == tank)
        count, seconds = self._connection.execute(query).one()
        return SpellSum(count=count, lasted=timedelta(seconds=seconds))

    def counted(self, kinds: Iterable[str], since: datetime, until: datetime) -> int:
        """See the port."""
        c = t.events.c
        query = select(func.count()).where(
            c.site == self._site, c.kind.in_(list(kinds)), c.at >= micros(since), c.at < micros(until)
        )
        return int(self._connection.execute(query).scalar() or 0)

    def sites(self) -> tuple[str, ...]:
        """See the port; from one to the next by the index, not through every event."""
        found: list[str] = []
        while True:
            query = select(func.min(t.events.c.site))
            if found:
                query = query.where(t.events.c.site > found[-1])
            following = self._connection.execute(query).scalar()
            if following is None:
                return tuple(found)
            found.append(following)

    def _from_detail(self, name: str) -> Any:
        """A number of an event's detail, NULL where it has none."""
        detail = t.events.c.detail
        if self._connection.dialect.name == "postgresql":
            return cast(detail, JSON)[name].as_float()
        return func.json_extract(detail, f"$.{name}")
