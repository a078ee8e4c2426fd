"""A store's URL → its file or its place on a server. What may be said of it holds no password."""

from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from gateway.errors import StoreTrouble

SQLITE, POSTGRESQL = "sqlite", "postgresql"
SECRET = ("password", "sslpassword")
"""What may stand in a URL's query and must not be said."""


def parsed(url: str) -> URL:
    """Raises StoreTrouble where it is none that can be worked on."""
    try:
        parts = make_url(url)
    except ArgumentError:
        parts = None
    if parts is None or parts.get_backend_name() not in (SQLITE, POSTGRESQL):
        raise StoreTrouble(
            f"{url!r} is no store url; right would be sqlite:////var/lib/tank-gateway/gateway.db, "
            "or postgresql://user@server/database"
        )
    return parts


def sqlite_file(url: str) -> Path | None:
    """The SQLite file of a URL; None for a server's."""
    parts = parsed(url)
    return Path(parts.database or ":memory:") if parts.get_backend_name() == SQLITE else None


def place(url: str) -> str:
    """The file, or the server's URL without its password."""
    parts = parsed(url)
    if parts.get_backend_name() == SQLITE:
        return parts.database or ":memory:"
    return parts.difference_update_query(SECRET).render_as_string(hide_password=True)
