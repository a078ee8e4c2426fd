"""Every test that asks for `url` or `store` runs on both engines: an SQLite file, and a real PostgreSQL on loopback."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gateway.storage import SqlStore, open_store
from tests.postgresql import Server, missing

SITE = "Quandong Ridge"
BOTH = ("sqlite", pytest.param("postgresql", marks=pytest.mark.xdist_group("postgresql")))
"""One worker has all tests that need the server, so that only one server is started."""


@pytest.fixture(scope="session")
def postgresql() -> Iterator[Server]:
    """The server, started when the first test needs it."""
    why = missing()
    if why is not None:
        pytest.skip(why)
    server = Server()
    yield server
    server.stop()


@pytest.fixture
def file_url(tmp_path: Path) -> str:
    """An SQLite file that is not there yet."""
    return f"sqlite:///{tmp_path}/gateway.db"


@pytest.fixture(params=BOTH)
def url(request: pytest.FixtureRequest) -> str:
    """An empty store on one engine or the other."""
    if request.param == "sqlite":
        return str(request.getfixturevalue("file_url"))
    server: Server = request.getfixturevalue("postgresql")
    return server.database()


@pytest.fixture
def opened(url: str) -> Iterator[Callable[[str], SqlStore]]:
    """The store as a site sees it; closed afterwards."""
    stores: list[SqlStore] = []

    def of(site: str) -> SqlStore:
        stores.append(open_store(url, site))
        return stores[-1]

    yield of
    for one in stores:
        one.close()


@pytest.fixture
def store(opened: Callable[[str], SqlStore]) -> SqlStore:
    """The store of Quandong Ridge."""
    return opened(SITE)


@pytest.fixture
def file_store(file_url: str) -> Iterator[SqlStore]:
    """The store in a file, for what only a file can do."""
    opened = open_store(file_url, SITE)
    yield opened
    opened.close()
