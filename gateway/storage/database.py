"""A store's URL → its database, on SQLite or PostgreSQL: transactions that read one snapshot, and transactions that write."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, event

from gateway.errors import StoreTrouble
from gateway.storage import sqlite
from gateway.storage.database_errors import in_our_words
from gateway.storage.postgresql import holding_engine, server_engine, take_turn, vacuum
from gateway.storage.remembered import forget_all
from gateway.storage.tables import arrivals, events, segments, texts
from gateway.storage.transactions import ERASED
from gateway.storage.urls import parsed, place, sqlite_file

ERASED_FROM = tuple(table.name for table in (arrivals, texts, events, segments))


class Database:
    """Raises the StoreTrouble family only. With a `holder` (see `hold_site`) it writes on that one connection alone, and whenever a
    reader had to connect anew the site is seen to be held."""

    def __init__(self, url: str, site: str, holder: Engine | None = None) -> None:
        self._url, self._site = url, site
        self.is_file = sqlite_file(url) is not None
        engine = make_engine(url)
        self._reader = engine if self.is_file else engine.execution_options(isolation_level="REPEATABLE READ")
        self._writer = holder or engine
        if holder is not None:
            event.listen(engine, "connect", lambda *_: _see_that_it_is_held(holder, url))

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One snapshot."""
        readers: OSError | None = None
        with self._transaction(self._reader, self._begin_reading) as connection:
            try:
                yield connection
            except OSError as wrong:  # standard output takes no more, or the page's file: no fault of the store
                readers = wrong
        if readers is not None:
            raise readers

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Durable at the end of the block, or not at all. The site's writers come one after the other."""
        with self._transaction(self._writer, self._begin_writing) as connection:
            connection.info.pop(ERASED, None)
            yield connection
            erased = ERASED in connection.info
        if erased:
            self._leave_no_trace()

    def close(self) -> None:
        """Closes every connection that nobody uses."""
        self._reader.dispose()

    @contextmanager
    def _transaction(self, engine: Engine, begin: Callable[[Connection], None]) -> Iterator[Connection]:
        """Begun here and not by a listener: with listeners the engine prepares for them at each statement, a fifth of what one costs."""
        with in_our_words(self._url), engine.connect() as connection:
            info = connection.info
            try:
                with connection.begin():
                    begin(connection)
                    yield connection
            except BaseException:
                forget_all(info)  # what it stored itself is not in the store
                raise

    def _begin_reading(self, connection: Connection) -> None:
        if self.is_file:
            sqlite.begin(connection, "BEGIN")
        else:
            forget_all(connection.info)  # nothing tells here whether somebody else has written since

    def _begin_writing(self, connection: Connection) -> None:
        if self.is_file:
            sqlite.begin(connection, "BEGIN IMMEDIATE")
        else:
            forget_all(connection.info)
            take_turn(connection, f"write:{self._site}")

    def _leave_no_trace(self) -> None:
        with in_our_words(self._url):
            if not self.is_file:
                vacuum(self._reader, *ERASED_FROM)
                return
            with self._reader.connect() as connection:
                sqlite.empty_log(connection)


def make_engine(url: str) -> Engine:
    """An engine that connects when it is first used."""
    file = sqlite_file(url)
    return server_engine(parsed(url)) if file is None else sqlite.sqlite_engine(file)


def hold_site(url: str, site: str) -> Engine:
    """The engine whose one connection holds the site. Raises the StoreTrouble family: StoreHeld where another gateway has it."""
    engine = holding_engine(parsed(url), site, place(url))
    try:
        _see_that_it_is_held(engine, url)
    except StoreTrouble:
        engine.dispose()
        raise
    return engine


def _see_that_it_is_held(holder: Engine, url: str) -> None:
    with in_our_words(url), holder.connect():
        pass
