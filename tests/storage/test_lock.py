"""Who has the store: one process at a time, known by its number; and how a server is connected to."""

import os

import pytest
from sqlalchemy.engine import make_url

from gateway.errors import StoreHeld, StoreUnwritable
from gateway.storage import hold
from gateway.storage.lock import holder
from gateway.storage.patient_connection import PatientConnection
from gateway.storage.postgresql import key_of, server_engine


def test_the_store_is_one_process_s_own(tmp_path):
    """Its folder is made if need be; the other is told who has it, and has it once it is let go."""
    url = f"sqlite:///{tmp_path}/new/state/gateway.db"
    assert holder(url, "ridge") is None
    lock = hold(url, "ridge")
    assert holder(url, "ridge") == os.getpid()
    with pytest.raises(StoreHeld, match=rf"process {os.getpid()}\) works on the store"):
        hold(url, "ridge")
    lock.release()
    assert holder(url, "ridge") is None
    hold(url, "ridge").release()


def test_a_folder_that_is_none(tmp_path):
    """A file stands in its place."""
    (tmp_path / "state").write_text("x")
    with pytest.raises(StoreUnwritable, match="cannot be used"):
        hold(f"sqlite:///{tmp_path}/state/gateway.db", "ridge")


@pytest.mark.parametrize(
    ("query", "limits"),
    [
        ("", (10, 30_000)),
        ("?connect_timeout=3", ("3", 30_000)),
        ("?connect_timeout=3&tcp_user_timeout=1", ("3", "1")),
    ],
)
def test_how_long_a_server_is_waited_for(monkeypatch, query, limits):
    """As the URL says, else as long as is usual here; no server is asked."""
    seen = {}

    def connect(*_words, **values):
        seen.update(values)
        raise OSError("no server is asked")

    monkeypatch.setattr(PatientConnection, "connect", connect)
    with pytest.raises(OSError, match="no server is asked"):
        server_engine(make_url(f"postgresql://u@server/water{query}")).connect()
    assert (seen["connect_timeout"], seen["tcp_user_timeout"]) == limits


def test_the_key_of_a_name_stays():
    """Gateways of two versions must know each other's locks; none is beyond what a server takes."""
    assert key_of("serve:ridge") == key_of("serve:ridge") != key_of("write:ridge")
    assert all(-(2**63) <= key_of(str(number)) < 2**63 for number in range(64))
    assert min(key_of(str(number)) for number in range(64)) < 0
