"""The schema's version in the store → the program's, forward only; a newer store is refused and left untouched.

One SELECT for a store that is up to date, and a new store is made from the tables: Alembic is imported only where there is something
to migrate. It is one transaction (on SQLite one BEGIN IMMEDIATE), so that a kill leaves the old version or the new one and nothing
between; of several gateways that start at once on a server one makes or migrates while the others wait.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import Connection, insert, select

from gateway.errors import StoreNewer
from gateway.storage.backup import backup
from gateway.storage.database import Database
from gateway.storage.tables import HEAD, metadata, schema_version
from gateway.storage.urls import place, sqlite_file

SCHEMA = "schema"
"""Whose turn a migration has; no site's."""
PIN_FORGOTTEN_IN = "0005"
MIGRATIONS = Path(__file__).with_name("migrations")


def bring_up_to_date(database: Database, url: str) -> None:
    """Makes or migrates it if needed. Raises StoreNewer."""
    with database.reading() as connection:
        is_new = not _is_made(connection)
        version = None if is_new else _version(connection)
    if is_new:
        _make(url)
    elif version is not None and version > HEAD:
        raise StoreNewer(
            f"the store {place(url)} was written by a newer tank-gateway (schema {version}, this program knows {HEAD}); "
            "it is left as it is: install the newer program, or restore a backup made by this one"
        )
    elif version != HEAD:
        if version is not None:
            _backup_before(url, version)
        migrate(url)


def migrate(url: str, revision: str = "head") -> None:
    """Every revision up to that one which the store lacks."""
    from alembic import command  # 0.3 s and 17 MB, which no command pays for a store that is up to date
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    with _alone(url) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)


@contextmanager
def _alone(url: str) -> Iterator[Connection]:
    """One transaction in which nobody else makes or migrates the store."""
    database = Database(url, SCHEMA)
    try:
        with database.writing() as connection:
            yield connection
    finally:
        database.close()


def _make(url: str) -> None:
    with _alone(url) as connection:
        if _is_made(connection):  # by another, while we waited for our turn
            return
        if connection.dialect.name == "postgresql":
            _mark_partial_indexes()
        metadata.create_all(connection, checkfirst=False)
        connection.execute(insert(schema_version), {"version_num": HEAD})


def _mark_partial_indexes() -> None:
    """What is partial in a file is so on a server. Said here and not in the tables: that would load the server's dialect, 2 MB and some
    20 ms of each start, into every gateway that has a file."""
    for table in metadata.tables.values():
        for index in table.indexes:
            index.dialect_options["postgresql"]["where"] = index.dialect_options["sqlite"]["where"]


def _is_made(connection: Connection) -> bool:
    return connection.dialect.has_table(connection, schema_version.name)


def _version(connection: Connection) -> str | None:
    return connection.execute(select(schema_version.c.version_num)).scalar()


def _backup_before(url: str, version: str) -> None:
    """A server's record has backups of its own."""
    file = sqlite_file(url)
    if file is not None:
        copy = file.with_name(f"{file.name}.before-{HEAD}-was-{version}")
        backup(url, str(copy))
        if version < PIN_FORGOTTEN_IN:
            _forget_pin(str(copy))


def _forget_pin(file: str) -> None:
    """What told the SIM's PIN is not kept in the copy either."""
    connection = sqlite3.connect(file)
    try:
        connection.execute("PRAGMA secure_delete=ON")
        for table, column in (("states", "kind"), ("marks", "key")):
            with suppress(sqlite3.OperationalError):  # an older store has the one, a younger the other
                connection.execute(f"DELETE FROM {table} WHERE {column} = 'pin-tried'")
        connection.commit()
    finally:
        connection.close()
