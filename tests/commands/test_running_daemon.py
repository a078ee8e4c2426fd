"""A command that waits for the daemon and is told to stop by Ctrl-C."""

import signal
from datetime import timedelta

import pytest

from gateway.commands.running_daemon import await_in_store
from gateway.settings.load import load
from gateway.storage import hold, open_store
from tests.household import write_config


def test_ctrl_c_is_taken_between_two_looks(tmp_path):
    """In the midst of one it could leave a transaction behind: the look goes on to its end, and Ctrl-C counts after it."""
    settings = load(str(write_config(tmp_path))).settings
    store, looks = open_store(settings.store.url, settings.site.name), []

    def look(reader):
        signal.raise_signal(signal.SIGINT)
        looks.append(reader.last_id("events"))

    daemon, before = hold(settings.store.url, settings.site.name), signal.getsignal(signal.SIGINT)
    try:
        with pytest.raises(KeyboardInterrupt):
            await_in_store(store, settings, look, timedelta(minutes=1))
    finally:
        daemon.release()
    assert looks == [0] and signal.getsignal(signal.SIGINT) is before
    with store.write() as tx:
        assert tx.last_id("events") == 0
    store.close()
