"""One transaction of one site: what all questions and changes go through.

`ERASED` is a note in `Connection.info` of what is to be done once it is committed (`database.Database`).
"""

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Connection, Executable, Insert, Table, insert

ERASED = "erased"
ROWS_AT_ONCE = 500


class TableReader:
    """Asks within one transaction. Every statement is given the site as `here` (`tables.here`). Rows can be unpacked, and have the columns'
    names in `_mapping`."""

    def __init__(self, connection: Connection, site: str) -> None:
        self._connection = connection
        self._site = site

    def _all(self, statement: Executable, **values: Any) -> Sequence[Any]:
        return self._connection.execute(statement, {"here": self._site, **values}).all()

    def _each(self, statement: Executable, **values: Any) -> Iterator[Any]:
        """Row by row as they are read: what may be twenty years is never in memory as a whole."""
        options = {"yield_per": ROWS_AT_ONCE}
        yield from self._connection.execute(statement, {"here": self._site, **values}, execution_options=options)

    def _first(self, statement: Executable, **values: Any) -> Any:
        return self._connection.execute(statement, {"here": self._site, **values}).first()

    def _value(self, statement: Executable, **values: Any) -> Any:
        """The first column of the first row; None where there is no row."""
        return self._connection.execute(statement, {"here": self._site, **values}).scalar()


class TableWriter(TableReader):
    """Changes within one transaction."""

    def _insert(self, table: Table, **values: Any) -> int:
        """The new row's id."""
        done = self._connection.execute(_insert_into(table), {"site": self._site, **values})
        return int(done.inserted_primary_key[0])  # type: ignore[index]  # None only after an INSERT of several rows

    def _change(self, statement: Executable, **values: Any) -> int:
        """An UPDATE or DELETE; of an UPDATE, `values` named as columns are set. How many rows it met."""
        return self._connection.execute(statement, {"here": self._site, **values}).rowcount

    def _leave_no_trace(self) -> None:
        """What was overwritten shall be gone from the disk too, once this is committed (`database.Database`)."""
        self._connection.info[ERASED] = True


@cache
def _insert_into(table: Table) -> Insert:
    return insert(table)
