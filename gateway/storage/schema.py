"""The schema's version in the store → the program's, forward only; a newer store is refused and left untouched.

One SELECT for a store that is up to date, and a new SQLite store is made from `fresh.py`: Alembic is imported only where there
is something to migrate. On SQLite every step runs within one BEGIN IMMEDIATE, so that a kill leaves the old version or the
new one and nothing between. On PostgreSQL too it is one transaction, and of several gateways that start at once one
migrates while the others wait.
"""

from pathlib import Path
from typing import Any

from gateway.errors import StoreNewer
from gateway.storage.fresh import STATEMENTS
from gateway.storage.talk import Database, Talk
from gateway.storage.words import place, sqlite_file

HEAD = "0002"
"""The newest revision in migrations/versions."""

SCHEMA = "schema"
"""Whose turn a migration has; no site's."""
MIGRATIONS = Path(__file__).with_name("migrations")
TABLES = {
    True: "SELECT name FROM sqlite_master WHERE type = 'table'",
    False: "SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema()",
}


def bring_up_to_date(database: Database, url: str) -> None:
    """Makes or migrates it if needed. Raises StoreNewer."""
    on_sqlite = sqlite_file(url) is not None
    with database.reading() as talk:
        tables = {row[0] for row in talk.all(TABLES[on_sqlite], {})}
        version = _version(talk) if "alembic_version" in tables else None
    if version == HEAD:
        return
    if version is not None and version > HEAD:
        raise StoreNewer(
            f"the store {place(url)} was written by a newer tank-gateway (schema {version}, this program knows {HEAD}); "
            "it is left as it is: install the newer program, or restore a backup made by this one"
        )
    if on_sqlite and not tables:
        _make(database)
        return
    if version is not None:
        _backup_before(url, version)
    migrate(url)


def migrate(url: str) -> None:
    """Every revision that the store lacks."""
    from alembic import command
    from alembic.config import Config

    from gateway.storage.engine import in_engine_words, make_engine, writing

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    engine = make_engine(url)
    try:
        with in_engine_words(url):
            _upgrade(writing(engine, SCHEMA), config, command)
    finally:
        engine.dispose()


def _upgrade(engine: Any, config: Any, command: Any) -> None:
    with engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _version(talk: Talk) -> str | None:
    found = talk.one("SELECT version_num FROM alembic_version", {})
    return None if found is None else str(found[0])


def _make(database: Database) -> None:
    with database.writing() as talk:
        if talk.one(TABLES[True], {}) is not None:
            return
        for statement in STATEMENTS:
            talk.change(statement, {})
        talk.change("INSERT INTO alembic_version (version_num) VALUES (:head)", {"head": HEAD})


def _backup_before(url: str, version: str) -> None:
    file = sqlite_file(url)
    if file is not None:
        from gateway.storage.backup import backup

        backup(url, str(file.with_name(f"{file.name}.before-{HEAD}-was-{version}")))
