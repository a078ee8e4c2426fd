"""The schema's version in the store → the program's, forward only; a newer store is refused and left untouched.

One SELECT for a store that is up to date: Alembic is imported only where there is something to do. On SQLite every step
runs within one BEGIN IMMEDIATE, so that a kill leaves the old version or the new one and nothing between. On PostgreSQL too it is
one transaction, and of several gateways that start at once one migrates while the others wait.
"""

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from gateway.errors import StoreNewer
from gateway.storage.engine import place, sqlite_file, writing

HEAD = "0002"
"""The newest revision in migrations/versions."""

SCHEMA = "schema"
"""Whose turn a migration has; no site's."""
MIGRATIONS = Path(__file__).with_name("migrations")


def bring_up_to_date(engine: Engine, url: str) -> None:
    """Migrates if needed. Raises StoreNewer."""
    with engine.begin() as connection:
        version = stored_version(connection)
    if version == HEAD:
        return
    if version is not None and version > HEAD:
        raise StoreNewer(
            f"the store {place(url)} was written by a newer tank-gateway (schema {version}, this program knows {HEAD}); "
            "it is left as it is: install the newer program, or restore a backup made by this one"
        )
    if version is not None:
        _backup_before(url, version)
    _migrate(engine)


def stored_version(connection: Connection) -> str | None:
    """The revision the store is at; None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def _migrate(engine: Engine) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    with writing(engine, SCHEMA).connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _backup_before(url: str, version: str) -> None:
    file = sqlite_file(url)
    if file is not None:
        from gateway.storage.backup import backup

        backup(url, str(file.with_name(f"{file.name}.before-{HEAD}-was-{version}")))
