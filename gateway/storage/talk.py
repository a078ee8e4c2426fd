"""What the reader and the transaction say to a database, whichever it is: SQL with `:named` values that SQLite and PostgreSQL both take.

Rows are tuples in the order of the SELECT. Truth is written TRUE and FALSE.
"""

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from functools import lru_cache
from typing import Any, Protocol

Values = Mapping[str, Any]


class Talk(Protocol):
    """One connection within its transaction. `kept`: what it remembers of the store; empty once anybody else changed that."""

    kept: dict[Any, Any]

    def all(self, sql: str, values: Values) -> Sequence[Sequence[Any]]:
        """Every row."""

    def one(self, sql: str, values: Values) -> Sequence[Any] | None:
        """The first row."""

    def change(self, sql: str, values: Values) -> int:
        """How many rows it changed."""

    def insert(self, table: str, values: Values) -> int:
        """The new row's id."""

    def number(self, column: str, name: str) -> str:
        """The SQL for a number of that name out of a column of JSON; NULL where it has none."""


class Database(Protocol):
    """Gives connections; raises the StoreTrouble family only."""

    def reading(self) -> AbstractContextManager[Talk]: ...
    def writing(self) -> AbstractContextManager[Talk]: ...
    def close(self) -> None: ...


@lru_cache(maxsize=64)
def insert_sql(table: str, columns: tuple[str, ...], *, named: bool = True) -> str:
    """`INSERT INTO texts (site, …) VALUES (:site, …)`; not `named`, `(?, …)`: by their places SQLite binds them in half the time."""
    names = ", ".join(f'"{one}"' for one in columns)
    values = ", ".join(f":{one}" if named else "?" for one in columns)
    return f"INSERT INTO {table} ({names}) VALUES ({values})"


@lru_cache(maxsize=64)
def assignments(columns: tuple[str, ...]) -> str:
    """`state = :state, …`, for an UPDATE."""
    return ", ".join(f"{one} = :{one}" for one in columns)
