"""A URL → an SQLAlchemy engine: for PostgreSQL at work, and for Alembic on either. The one door to SQLAlchemy.

A store on SQLite is worked on without it (`sqlite.py`): its import alone takes a quarter of a second and 26 MB.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.exc import TimeoutError as NoneFree
from sqlalchemy.pool import QueuePool

from gateway.errors import StoreTrouble
from gateway.storage.server import BACKEND, holding_engine, server_engine
from gateway.storage.sqlite import BUSY_S, PRAGMAS
from gateway.storage.talk import Values, insert_sql
from gateway.storage.words import in_our_words, place, said_of, sqlite_file

SECRET = ("password", "sslpassword")
"""What may stand in a URL's query and must not be said."""


def checked(url: str) -> str:
    """The URL without its password. Raises StoreTrouble where it is none that can be worked on."""
    return _parsed(url).difference_update_query(SECRET).render_as_string(hide_password=True)


def _parsed(url: str) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError:
        parsed = None
    if parsed is None or parsed.drivername.split("+")[0] not in ("sqlite", BACKEND):
        raise StoreTrouble(
            f"{url!r} is no store url; right would be sqlite:////var/lib/tank-gateway/gateway.db, "
            "or postgresql://user@server/database"
        )
    return parsed


def make_engine(url: str) -> Engine:
    """An engine that connects when it is first used; on SQLite as durable as `sqlite.py`."""
    if sqlite_file(url) is None:
        return server_engine(_parsed(url))
    engine = create_engine(url, poolclass=QueuePool, connect_args={"timeout": BUSY_S, "check_same_thread": False})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def hold_site(url: str, site: str) -> Engine:
    """The engine whose one connection holds the site. Raises the StoreTrouble family: StoreHeld where another gateway has it."""
    engine = holding_engine(_parsed(url), site, place(url))
    try:
        _see_that_it_is_held(engine, url)
    except StoreTrouble:
        engine.dispose()
        raise
    return engine


def _see_that_it_is_held(holder: Engine, url: str) -> None:
    with in_engine_words(url), holder.connect():
        pass


def writing(engine: Engine, site: str) -> Engine:
    """Its transactions write, one after the other."""
    return engine.execution_options(writing=True, writing_of=site)


class EngineTalk:
    """Implements `Talk`."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.kept: dict[Any, Any] = {}

    def all(self, sql: str, values: Values) -> Sequence[Sequence[Any]]:
        """See the port."""
        return self._connection.execute(text(sql), values).all()

    def one(self, sql: str, values: Values) -> Sequence[Any] | None:
        """See the port."""
        return self._connection.execute(text(sql), values).first()

    def change(self, sql: str, values: Values) -> int:
        """See the port."""
        return self._connection.execute(text(sql), values).rowcount

    def insert(self, table: str, values: Values) -> int:
        """See the port."""
        said = f"{insert_sql(table, tuple(values))} RETURNING id"
        return int(self._connection.execute(text(said), values).scalar_one())

    def number(self, column: str, name: str) -> str:
        """See the port."""
        return f"CAST(CAST({column} AS JSON) ->> '{name}' AS DOUBLE PRECISION)"


class EngineDatabase:
    """Implements `Database` on PostgreSQL; a reader has one snapshot. With a `holder` (see `hold_site`) it writes on that alone, and
    whenever a reader had to connect anew the site is seen to be held."""

    def __init__(self, engine: Engine, url: str, site: str, holder: Engine | None = None) -> None:
        self._engine, self._url = engine.execution_options(isolation_level="REPEATABLE READ"), url
        self._writer = writing(engine if holder is None else holder, site)
        if holder is not None:
            event.listen(engine, "connect", lambda *_: _see_that_it_is_held(holder, url))

    @contextmanager
    def reading(self) -> Iterator[EngineTalk]:
        """One snapshot."""
        with in_engine_words(self._url), self._engine.begin() as connection:
            yield EngineTalk(connection)

    @contextmanager
    def writing(self) -> Iterator[EngineTalk]:
        """Durable at the end of the block, or not at all."""
        with in_engine_words(self._url), self._writer.connect() as connection, connection.begin():
            yield EngineTalk(connection)

    def close(self) -> None:
        """Closes every connection."""
        self._engine.dispose()


@contextmanager
def in_engine_words(url: str) -> Iterator[None]:
    """Whatever the database says is said by the StoreTrouble family."""
    try:
        with in_our_words(url):
            yield
    except DBAPIError as wrong:
        raise said_of(wrong.orig, url) from wrong
    except NoneFree as wrong:
        raise StoreTrouble(f"the store {place(url)} is busy: no connection was free ({wrong}); try again") from wrong


def _prepare(connection: Any, _record: Any) -> None:
    connection.isolation_level = None
    for pragma in PRAGMAS:
        connection.execute(f"PRAGMA {pragma}").close()


def _begin(connection: Any) -> None:
    writing = connection.get_execution_options().get("writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")
