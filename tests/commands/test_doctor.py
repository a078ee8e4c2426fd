"""`doctor` beside a daemon: what that saw of the modem last, and nothing of it once the modem is lost."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.clock import SystemClock
from gateway.facts import Event
from gateway.facts.states.gateway_itself import ModemCondition, MqttLinkSeen, MqttPublished, Trouble
from gateway.status.broker import NO_LIBRARY
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


def test_what_stands_wrong_since_when(tmp_path, capsys):
    """A trouble on record with what helps; of what is measured anew only that is told."""
    config, url = str(write_config(tmp_path)), f"sqlite:///{tmp_path}/gateway.db"
    store = open_store(url, "Quandong Ridge")
    with store.write() as tx:
        for kind in ("modem-lost", "disk-low"):
            tx.set_state(Trouble(since=NOW), kind)
    store.close()
    main(["doctor", "--json", "--config", config])
    findings = {finding["what"]: finding for finding in json.loads(capsys.readouterr().out)["findings"]}
    assert findings["modem-lost"]["said"].startswith("since 2026-11-25 14:00") and findings["modem-lost"]["do"]
    assert "disk-low" not in findings


BROKER = '[mqtt]\nurl = "mqtt://127.0.0.1"\n'
SINCE = NOW - timedelta(hours=3)
REACHED = MqttLinkSeen(reached=True, since=SINCE, why="")
BROKEN = MqttLinkSeen(reached=False, since=SINCE, why="Not authorized")
UNEQUIPPED = MqttLinkSeen(reached=False, since=SINCE, why=NO_LIBRARY)


@pytest.mark.parametrize(
    ("link", "taken", "waits_for", "runs", "right", "said", "do"),
    [
        (REACHED, SINCE, (), True, True, ["is reached since", "the last event it took: 2026-11-25 11:00"], ""),
        (REACHED, None, (30,), True, True, ["is reached", "1 event waits for it"], ""),
        (REACHED, SINCE, (119, 60), True, True, ["is reached", "2 events wait for it; the last"], ""),
        (REACHED, SINCE, (121, 60), True, False, ["takes nothing; 2 events wait"], "look at the broker"),
        (BROKEN, SINCE, (900,), True, False, ["is not reached since", "Not authorized; 1 event waits"], "[mqtt]"),
        (UNEQUIPPED, None, (), True, False, ["not installed: sudo deploy/install --mqtt"], ""),
        (None, None, (), True, None, ["was not tried yet"], ""),
        (REACHED, SINCE, (900,), False, None, ["while the daemon does not run; 1 event waits"], ""),
    ],
)
def test_the_broker(tmp_path, capsys, monkeypatch, link, taken, waits_for, runs, right, said, do):
    """Whether it is reached, what it took last, what waits; an imported past waits for nobody."""
    config, url = str(write_config(tmp_path, rest=BROKER)), f"sqlite:///{tmp_path}/gateway.db"
    monkeypatch.setattr(SystemClock, "now", lambda _: NOW)
    store = open_store(url, "Quandong Ridge")
    with store.write() as tx:
        tx.set_state(MqttPublished(event=0, topics=(), at=taken))
        if link is not None:
            tx.set_state(link)
        for second in waits_for:
            at = NOW - timedelta(seconds=second)
            tx.keep_event(Event(kind="note", at=at, heard_at=at, known_at=at))
        tx.keep_event(Event(kind="note", at=SINCE, heard_at=NOW, known_at=SINCE))
    store.close()
    daemon = hold(url, "Quandong Ridge") if runs else None
    try:
        main(["doctor", "--json", "--config", config])
    finally:
        if daemon is not None:
            daemon.release()
    (found,) = [
        finding for finding in json.loads(capsys.readouterr().out)["findings"] if finding["what"] == "MQTT broker"
    ]
    assert found["right"] is right and do in found["do"] and bool(do) == bool(found["do"])
    assert all(words in found["said"] for words in said), found["said"]


def test_no_broker_no_word_of_it(tmp_path, capsys):
    """It is off by default."""
    main(["doctor", "--json", "--config", str(write_config(tmp_path))])
    assert "MQTT" not in capsys.readouterr().out
