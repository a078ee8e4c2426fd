"""Row 80 of the fault table: a database server that hangs behind a live connection."""

import signal
import time

import pytest
from sqlalchemy import text
from sqlalchemy.engine import make_url

from gateway.errors import StoreTrouble
from gateway.simulator import SimulatedModem
from gateway.storage import open_store
from gateway.storage.patient_connection import PatientConnection, _answer_within_s
from gateway.storage.postgresql import server_engine
from tests.faults.stalling_proxy import stalling_proxy
from tests.household import RIDGE, write_config
from tests.service.test_serve import Serve
from tests.storage.conftest import SITE

pytestmark = pytest.mark.xdist_group("postgresql")


@pytest.fixture
def impatient():
    """Some seconds are enough for a test."""
    before = _answer_within_s.set(3.0)
    yield
    _answer_within_s.reset(before)


def through(proxy, url: str) -> str:
    """The same database behind the proxy."""
    head, _, database = url.rpartition("/")
    return f"{head.rpartition(':')[0]}:{proxy.port}/{database}?connect_timeout=3"


def test_row_80_a_statement_is_given_up(postgresql, impatient, trials):
    """It takes what is sent and answers nothing: each statement ends in words, and once it answers again all goes on."""
    url = postgresql.database()
    for _ in range(trials(50)):
        with stalling_proxy(postgresql.port) as proxy:
            store = open_store(through(proxy, url), SITE)
            proxy.stalled.set()
            for work in (store.read, store.write):
                with pytest.raises(StoreTrouble, match=r"has not answered|timeout expired"), work() as transaction:
                    transaction.last_id("texts")
            proxy.stalled.clear()
            with store.read() as reader:
                assert reader.last_id("texts") == 0
            store.close()


def test_a_session_waits_neither_for_a_lock_nor_on_a_dead_line_for_ever(postgresql):
    """As the server itself says of a session of ours; by its own defaults a lock is waited for without end, a dead line for two hours."""
    names = ("lock_timeout", "tcp_keepalives_idle", "tcp_keepalives_interval", "tcp_keepalives_count")
    with server_engine(make_url(postgresql.database())).connect() as connection:
        assert [connection.scalar(text(f"SHOW {name}")) for name in names] == ["10s", "30", "10", "3"]


def test_row_80_sigterm_ends_it(postgresql, tmp_path):
    """The daemon waits for a server that hangs, and is told to end: it does, in time, and says what it waited for."""
    url = postgresql.database()
    with stalling_proxy(postgresql.port) as proxy, SimulatedModem(str(tmp_path / "port")) as modem:
        config = write_config(tmp_path, url=through(proxy, url))
        config.write_text(config.read_text().replace('device = "simulated"', f'device = "{modem.device}"'))
        serve = Serve(config)
        serve.logged("action=ModemReady")
        proxy.stalled.set()
        modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        assert proxy.swallowed.wait(120)
        began = time.monotonic()
        serve.end(signal.SIGTERM)
        took = time.monotonic() - began
        serve.logged("ended-in-a-hang")
        print(f"ended {took:.1f} s after the signal")
        assert [text for _, text in modem.slots.items()], "the text is still on the SIM"


def test_a_connection_is_a_patient_one(postgresql):
    """Whatever SQLAlchemy hands out."""
    store = open_store(postgresql.database(), SITE)
    with store._database.reading() as connection:
        assert isinstance(connection.connection.dbapi_connection, PatientConnection)
    store.close()
