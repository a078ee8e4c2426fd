"""What a connection remembers of the store, so that the same is not read anew with every text.

It is the connection's own (`Connection.info`), and forgotten as soon as anybody else wrote or what it wrote itself was rolled back
(`sqlite.begin`, `database.Database`); on a server, where nothing tells of others' writing, with each transaction.
"""

from typing import Any

from sqlalchemy import Connection

_REMEMBERED = "remembered"


def remembered(connection: Connection, what: str) -> dict[Any, Any]:
    """What is remembered under this name; empty at first. Who changes the store on this connection changes it here too."""
    everything: dict[str, dict[Any, Any]] = connection.info.setdefault(_REMEMBERED, {})
    return everything.setdefault(what, {})


def forget_all(info: dict[Any, Any]) -> None:
    """Of the connection whose `info` this is."""
    info.pop(_REMEMBERED, None)
