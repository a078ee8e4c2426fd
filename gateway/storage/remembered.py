"""What a connection remembers of the store, so that the same is not read anew with every text.

It is the connection's own (`Connection.info`), and forgotten as soon as anybody else wrote or what it wrote itself was rolled back
(`sqlite.begin`, `database.Database`); on a server, where nothing tells of others' writing, with each transaction.
"""

from bisect import insort_right
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Generic, TypeVar

from sqlalchemy import Connection

Kept = TypeVar("Kept")
LONG_AGO = datetime.min.replace(tzinfo=UTC)
_REMEMBERED = "remembered"


@dataclass(slots=True)
class Newest(Generic[Kept]):
    """The newest so many of a kind, oldest first; `known_by`: when the last of them was known."""

    kept: list[Kept]
    known_by: datetime
    most: int

    def add(self, item: Kept, known_at: datetime, at: Callable[[Kept], datetime]) -> None:
        """One more was stored, which was at a time of its own."""
        insort_right(self.kept, item, key=at)
        self.known_by = max(self.known_by, known_at)
        del self.kept[: -self.most]


def remembered(connection: Connection, what: str) -> dict[Any, Any]:
    """What is remembered under this name; empty at first. Who changes the store on this connection changes it here too."""
    everything: dict[str, dict[Any, Any]] = connection.info.setdefault(_REMEMBERED, {})
    return everything.setdefault(what, {})


def forget_all(info: dict[Any, Any]) -> None:
    """Of the connection whose `info` this is."""
    info.pop(_REMEMBERED, None)
