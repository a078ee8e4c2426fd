"""Sums that the database makes by its indexes, so that a page of twenty years reads no more rows than a page of one.

Implements gateway.ports.Summaries. The two databases differ in one thing here: how a number is taken out of JSON (`Talk.number`).
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import NumberName
from gateway.ports.summaries import DayOfNumbers, EpisodeSum
from gateway.storage.talk import Talk
from gateway.storage.values import micros, moment_or_none

HANDED_STATES = "('sent', 'delivered', 'unsure')"
DAY = timedelta(days=1)
DAY_US = DAY // timedelta(microseconds=1)


class SqlSummaries:
    """The sums of one snapshot, and how it is asked."""

    def __init__(self, talk: Talk, site: str) -> None:
        self._talk = talk
        self._site = site

    def first_event_at(self) -> datetime | None:
        """See the port."""
        return moment_or_none(self._value("SELECT at FROM events WHERE site = :site ORDER BY at, id LIMIT 1"))

    def numbers_by_day(
        self, number: NumberName, controller: str, since: datetime, until: datetime, *, within: tuple[float, float]
    ) -> tuple[DayOfNumbers, ...]:
        """See the port."""
        value = self._talk.number("detail", number)
        rows = self._all(
            f"SELECT (at - :since) / {DAY_US} AS day, min({value}), max({value}) FROM events "
            "WHERE site = :site AND controller = :controller AND at >= :since AND at < :until "
            f"AND {value} BETWEEN :least AND :most GROUP BY day ORDER BY day",
            controller=controller,
            since=micros(since),
            until=micros(until),
            least=within[0],
            most=within[1],
        )
        return tuple(DayOfNumbers(day=since + int(row[0]) * DAY, low=row[1], high=row[2]) for row in rows)

    def segments_between(self, since: datetime, until: datetime) -> int:
        """See the port."""
        query = (
            "SELECT coalesce(sum(segments), 0) FROM texts WHERE site = :site AND handed_at >= :since "
            f"AND handed_at < :until AND state IN {HANDED_STATES}"
        )
        return int(self._value(query, since=micros(since), until=micros(until)))

    def episodes_between(self, over: str, since: datetime, until: datetime, *, tank: str | None = None) -> EpisodeSum:
        """See the port."""
        lasted = self._talk.number("detail", "lasted_s")
        query = (
            f"SELECT count(*), coalesce(sum({lasted}), 0) FROM events WHERE site = :site AND kind = :over "
            f"AND at >= :since AND at < :until AND {lasted} >= 0 {'AND tank = :tank' if tank is not None else ''}"
        )
        count, seconds = self._one(query, over=over, since=micros(since), until=micros(until), tank=tank)
        return EpisodeSum(count=count, lasted=timedelta(seconds=seconds))

    def counted(self, kinds: Iterable[str], since: datetime, until: datetime) -> int:
        """See the port."""
        named = {f"kind{place}": kind for place, kind in enumerate(kinds)}
        query = (
            f"SELECT count(*) FROM events WHERE site = :site AND kind IN ({names_of(named)}) "
            "AND at >= :since AND at < :until"
        )
        return int(self._value(query, since=micros(since), until=micros(until), **named))

    def sites(self) -> tuple[str, ...]:
        """See the port; from one to the next by the index, not through every event."""
        found: list[str] = []
        following = self._value("SELECT min(site) FROM events")
        while following is not None:
            found.append(following)
            following = self._value("SELECT min(site) FROM events WHERE site > :last", last=following)
        return tuple(found)

    # ---------------------------------------------------------------------------------------

    def _all(self, query: str, **values: Any) -> Any:
        return self._talk.all(query, {"site": self._site, **values})

    def _one(self, query: str, **values: Any) -> Any:
        return self._talk.one(query, {"site": self._site, **values})

    def _value(self, query: str, **values: Any) -> Any:
        row = self._talk.one(query, {"site": self._site, **values})
        return None if row is None else row[0]


def names_of(named: Iterable[str]) -> str:
    """`:kind0, :kind1`, for IN; NULL where there is none."""
    return ", ".join(f":{name}" for name in named) or "NULL"
