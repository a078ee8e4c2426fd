"""A PostgreSQL URL → an engine on which several gateways share one record and none steps on another.

A reader has one snapshot. A writer has its site's turn (an advisory lock that ends with the transaction), so that the daemon and
the commands of one site never write past each other while the other sites go on: what BEGIN IMMEDIATE is for a file. A daemon writes
on the one connection that holds its site: once that was lost, nothing is written before the site is held again. A dead line
is given up by us after half a minute and by the server within one, so that a board that lost its power gets its site back; a server that
hangs behind a live line is given up sooner (`patient_connection.py`).
PostgreSQL takes no NUL in a text; it is kept as its picture (U+2400).
Source: PostgreSQL manual 13.2.2 (repeatable read), 13.3.5 (advisory locks), 20.3.2 and 20.11.1 (keep-alives, lock_timeout),
34.1.2 (connection parameters), 9.27.2 (pg_terminate_backend).
"""

import hashlib
from functools import partial
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL

from gateway.errors import StoreHeld, StoreTrouble

DRIVER = "postgresql+psycopg"
CONNECT_WITHIN_S = 10
LINE_DEAD_AFTER_MS = 30_000
BUSY_MS = 10_000
KEPT_OPEN = 2
SESSION = (
    f"SET lock_timeout = {BUSY_MS}",
    "SET tcp_keepalives_idle = 30",
    "SET tcp_keepalives_interval = 10",
    "SET tcp_keepalives_count = 3",
)
PICTURE_OF_NUL = "\u2400"
OUR_LOST_ONE = (
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE application_name = %s AND pid <> pg_backend_pid() "
    "AND pid IN (SELECT pid FROM pg_locks WHERE locktype = 'advisory' AND granted)"
)
"""One that was refused a moment ago may be there still and holds nothing: to wait for it was to wait for the other gateway."""


def server_engine(url: URL, connections: int = 6) -> Engine:
    """An engine that connects when it is first used. Raises StoreTrouble where the driver is missing."""
    limits = {"connect_timeout": CONNECT_WITHIN_S, "tcp_user_timeout": LINE_DEAD_AFTER_MS}
    mine = {name: value for name, value in limits.items() if name not in url.query}
    try:
        engine = create_engine(
            url.set(drivername=DRIVER),
            pool_pre_ping=True,
            pool_size=min(KEPT_OPEN, connections),
            max_overflow=max(0, connections - KEPT_OPEN),
            connect_args=mine,
        )
        from gateway.storage.patient_connection import PatientConnection  # psycopg is there only where a server is used
    except ModuleNotFoundError:
        raise StoreTrouble(
            "a store on PostgreSQL needs psycopg: deploy/install --postgresql, or pip install 'tank-gateway[postgresql]'"
        ) from None
    event.listen(
        engine, "do_connect", lambda _dialect, _record, words, values: PatientConnection.connect(*words, **values)
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "before_cursor_execute", _without_nul, retval=True)
    return engine


def take_turn(connection: Connection, name: str) -> None:
    """Waits until nobody else has the turn of that name; ours ends with the transaction."""
    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": key_of(name)})


def holding_engine(url: URL, site: str, place: str) -> Engine:
    """An engine of one connection, which holds the site for as long as it is open, on whatever machine. Made again after the server or
    the line went, it takes the site again first; connecting raises StoreHeld where another gateway has it by then."""
    engine = server_engine(url, connections=1)
    event.listen(engine, "connect", partial(_take_site, site, place, f"tank-gateway {uuid4().hex}"))
    return engine


def vacuum(engine: Engine, *tables: str) -> None:
    """After a commit: the older versions of changed rows are gone from these tables now, not when the server gets round to it."""
    from gateway.storage.patient_connection import long_work  # as above

    with long_work(), engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        for table in tables:
            connection.execute(text(f"VACUUM {table}"))


def key_of(name: str) -> int:
    """A name → the 64 bits that an advisory lock is known by."""
    return int.from_bytes(hashlib.sha256(f"tank-gateway:{name}".encode()).digest()[:8], "big", signed=True)


def _prepare(connection: Any, _record: Any) -> None:
    connection.execute("; ".join(SESSION))
    connection.commit()


def _take_site(site: str, place: str, mine: str, connection: Any, _record: Any) -> None:
    """Our own last session may be there still, on a line that is dead: it is ended, and waited for."""
    connection.execute("SELECT set_config('application_name', %s, false)", (mine,))
    ours = connection.execute(OUR_LOST_ONE, (mine,)).fetchall()
    take = "SELECT pg_advisory_lock(%s) IS NOT NULL" if ours else "SELECT pg_try_advisory_lock(%s)"
    held = connection.execute(take, (key_of(f"serve:{site}"),)).fetchone()[0]
    connection.commit()
    if not held:
        connection.close()
        raise StoreHeld(
            f"another gateway of the site {site!r} works on the store {place}; stop it first, "
            "or give each gateway a site.name of its own"
        )


def _without_nul(_connection: Any, _cursor: Any, statement: str, parameters: Any, _context: Any, many: bool) -> Any:
    return statement, [_clean(row) for row in parameters] if many else _clean(parameters)


def _clean(row: Any) -> Any:
    if not isinstance(row, dict):
        return row
    return {
        name: value.replace("\0", PICTURE_OF_NUL) if isinstance(value, str) else value for name, value in row.items()
    }
