"""A PostgreSQL URL → an engine on which several gateways share one record and none steps on another.

A reader has one snapshot. A writer has its site's turn (an advisory lock that ends with the transaction), so that the daemon and
the commands of one site never write past each other while the other sites go on: what BEGIN IMMEDIATE is for a file. A dead line
is given up by us after half a minute and by the server within one, so that a board that lost its power gets its site back.
PostgreSQL takes no NUL in a text; it is kept as its picture (U+2400).
Source: PostgreSQL manual 13.2.2 (repeatable read), 13.3.5 (advisory locks), 20.3.2 and 20.11.1 (keep-alives, lock_timeout),
34.1.2 (connection parameters).
"""

import hashlib
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL

from gateway.errors import StoreTrouble

BACKEND = "postgresql"
DRIVER = "postgresql+psycopg"
CONNECT_WITHIN_S = 10
LINE_DEAD_AFTER_MS = 30_000
BUSY_MS = 10_000
SESSION = (
    f"SET lock_timeout = {BUSY_MS}",
    "SET tcp_keepalives_idle = 30",
    "SET tcp_keepalives_interval = 10",
    "SET tcp_keepalives_count = 3",
)
PICTURE_OF_NUL = "\u2400"


def server_engine(url: URL) -> Engine:
    """An engine that connects when it is first used. Raises StoreTrouble where the driver is missing."""
    limits = {"connect_timeout": CONNECT_WITHIN_S, "tcp_user_timeout": LINE_DEAD_AFTER_MS}
    mine = {name: value for name, value in limits.items() if name not in url.query}
    try:
        engine = create_engine(
            url.set(drivername=DRIVER), pool_pre_ping=True, pool_size=2, max_overflow=4, connect_args=mine
        )
    except ModuleNotFoundError:
        raise StoreTrouble(
            "a store on PostgreSQL needs psycopg: deploy/install --postgresql, or pip install 'tank-gateway[postgresql]'"
        ) from None
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    event.listen(engine, "before_cursor_execute", _without_nul, retval=True)
    return engine


def take_turn(connection: Connection, name: str) -> None:
    """Waits until nobody else has the turn of that name; ours ends with the transaction."""
    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": key_of(name)})


def hold_site(engine: Engine, site: str) -> Connection | None:
    """A session that holds the site for as long as it is open, on whatever machine; None: another has it."""
    connection = engine.execution_options(isolation_level="AUTOCOMMIT").connect()
    if connection.scalar(text("SELECT pg_try_advisory_lock(:key)"), {"key": key_of(f"serve:{site}")}):
        return connection
    connection.close()
    return None


def key_of(name: str) -> int:
    """A name → the 64 bits that an advisory lock is known by."""
    return int.from_bytes(hashlib.sha256(f"tank-gateway:{name}".encode()).digest()[:8], "big", signed=True)


def _prepare(connection: Any, _record: Any) -> None:
    connection.execute("; ".join(SESSION))
    connection.commit()


def _begin(connection: Connection) -> None:
    site = connection.get_execution_options().get("writing_of")
    if site is not None:
        take_turn(connection, f"write:{site}")


def _without_nul(_connection: Any, _cursor: Any, statement: str, parameters: Any, _context: Any, many: bool) -> Any:
    return statement, [_clean(row) for row in parameters] if many else _clean(parameters)


def _clean(row: Any) -> Any:
    if not isinstance(row, dict):
        return row
    return {
        name: value.replace("\0", PICTURE_OF_NUL) if isinstance(value, str) else value for name, value in row.items()
    }
