"""What may be asked of the store in sums: bounded answers, however long the history is."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from gateway.facts import NumberName


@dataclass(frozen=True, slots=True, kw_only=True)
class DayOfNumbers:
    """The lowest and the highest of one day's readings. `day`: when it began."""

    day: datetime
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class EpisodeSum:
    """How many episodes ended within a time, and how long they lasted together."""

    count: int
    lasted: timedelta


class Summaries(Protocol):
    """Sums that the database makes, of this site."""

    def first_event_at(self) -> datetime | None:
        """When the history begins; None: it is empty."""

    def numbers_by_day(
        self, number: NumberName, controller: str, since: datetime, until: datetime, *, within: tuple[float, float]
    ) -> tuple[DayOfNumbers, ...]:
        """Day by day (24 hours from `since` on), oldest first; days without a reading are left out, as are readings
        that are not `within`."""

    def segments_between(self, since: datetime, until: datetime) -> int:
        """Segments handed over with success in `[since, until)`."""

    def episodes_between(self, over: str, since: datetime, until: datetime, *, tank: str | None = None) -> EpisodeSum:
        """Episodes that ended in `[since, until)`; `over`: the kind of event that ends one (`low-over`)."""

    def counted(self, kinds: Iterable[str], since: datetime, until: datetime) -> int:
        """How many events of these kinds in `[since, until)`."""

    def sites(self) -> tuple[str, ...]:
        """Every site that has an event in this store."""
