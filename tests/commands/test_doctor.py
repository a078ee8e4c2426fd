"""`doctor` beside a daemon: what that saw of the modem last, and nothing of it once the modem is lost."""

import json
from datetime import UTC, datetime

import pytest

from gateway.__main__ import main
from gateway.facts.states import ModemCondition, Trouble
from gateway.storage import hold, open_store
from tests.household import write_config

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("sim", "registered", "percent", "lost", "right"),
    [
        ("ready", True, 60.0, False, [True, True, True]),
        ("PIN wanted", False, 5.0, False, [False, False, False]),
        ("ready", None, None, False, [True, None, None]),
        ("ready", True, 60.0, True, [None, None, None]),
    ],
)
def test_what_the_daemon_saw_of_the_modem(tmp_path, capsys, sim, registered, percent, lost, right):
    """SIM, network and signal, each right, wrong or unknown."""
    config, url = str(write_config(tmp_path)), f"sqlite:///{tmp_path}/gateway.db"
    store = open_store(url, "Quandong Ridge")
    with store.write() as tx:
        tx.set_state(ModemCondition(signal_percent=percent, registered=registered, operator=None, sim=sim, at=NOW))
        if lost:
            tx.set_state(Trouble(since=NOW), "modem-lost")
    store.close()
    daemon = hold(url, "Quandong Ridge")
    try:
        main(["doctor", "--json", "--config", config])
    finally:
        daemon.release()
    findings = {finding["what"]: finding for finding in json.loads(capsys.readouterr().out)["findings"]}
    assert [findings[what]["right"] for what in ("SIM", "network", "signal")] == right
    assert findings["SIM"]["said"] == sim
