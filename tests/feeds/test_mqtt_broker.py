"""A household at work beside a real broker: killed, stalled and shut in the middle; what comes in by it is not obeyed."""

import signal
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import pytest

from gateway.facts.states.gateway_itself import MqttPublished
from gateway.feeds import mqtt_link
from gateway.feeds.mqtt_schema import mqtt_schema
from gateway.storage import open_store
from tests.feeds.mosquitto import WITHIN_S, Listener, Mosquitto, needs_mosquitto
from tests.household import RIDGE, at_home, write_config
from tests.service.test_serve import Serve

pytestmark = needs_mosquitto


@pytest.fixture(autouse=True)
def no_long_pauses(monkeypatch):
    """A broker that was away is found again at once."""
    monkeypatch.setattr(mqtt_link, "FIRST_PAUSE_S", 0.05)
    monkeypatch.setattr(mqtt_link, "LONGEST_PAUSE_S", 0.2)


@pytest.fixture
def broker(tmp_path):
    """A broker that runs."""
    made = Mosquitto(tmp_path)
    made.start()
    yield made
    made.kill()


@pytest.fixture
def listen(broker):
    """listen() → somebody who listens from then on."""
    made = []

    def listener():
        made.append(Listener(broker.port))
        return made[-1]

    yield listener
    for publication in made:
        publication.close()


def mqtt(broker, more=""):
    """The household's table."""
    return f'[mqtt]\nurl = "mqtt://127.0.0.1:{broker.port}"\n{more}'


def mqtts(broker, password_file, authority):
    """The same with TLS and a password; `authority`: whose certificates are believed, None for the system's."""
    table = f'[mqtt]\nurl = "mqtts://localhost:{broker.port}"\nuser = "tank"\npassword_file = "{password_file}"\n'
    return table + (f'ca_file = "{authority}"\n' if authority is not None else "")


def broker_took(home):
    """The last event whose acknowledgement is on record: one that was lost with the connection comes twice."""
    with home.built.store.read() as reader:
        published = reader.state(MqttPublished)
    return published and published.event


def test_what_stands_what_happens_and_the_end(tmp_path, broker, listen):
    """Whoever comes later gets what stands; all of it holds to the schema; what is published to us changes nothing."""
    early = listen()
    with at_home(tmp_path, rest=mqtt(broker)) as home:
        early.until(lambda _: early.last("tanks/tank/house") is not ...)
        assert early.last("tanks/gateway")["state"] == "at-work"
        early._client.publish("tanks/order", '"OVER house"', qos=1).wait_for_publish(WITHIN_S)
        early._client.publish("tanks/event", '{"id": 1, "kind": "low-over"}', qos=1).wait_for_publish(WITHIN_S)
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        early.until(lambda _: "low" in early.kinds() and early.last("tanks/tank/house")["state"] == "low")
        late = listen()
        late.until(lambda _: late.last("tanks/tank/house") is not ... and late.last("tanks/alarm/1") is not ...)
        assert late.heard[0][2] and late.last("tanks/alarm/1")["kind"] == "low"
        assert home.events("low-over") == []
    early.until(lambda _: early.last("tanks/gateway")["state"] == "ended")
    theirs = ("OVER house", {"id": 1, "kind": "low-over"})
    ours = [(topic, document) for topic, document, _ in early.heard if document and document not in theirs]
    for topic, document in ours:
        jsonschema.validate({topic: document}, mqtt_schema())


def test_a_broker_that_is_killed_in_the_middle(tmp_path, broker, listen, caplog):
    """The household is told as ever; what happened meanwhile comes in order, once, and what stands is there again. Why is in
    the journal."""
    caplog.set_level("INFO", "gateway")
    first = listen()
    with at_home(tmp_path, rest=mqtt(broker)) as home:
        first.until(lambda _: first.last("tanks/tank/house") is not ...)
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        first.until(lambda _: "low" in first.kinds())
        known = first.ids()
        home.until(lambda: broker_took(home) == known[-1], "its answer is on record")
        first.close()  # else it connects anew by itself
        broker.kill()
        home.modem.network.deliver(RIDGE, "LINE 1 BROKE 0718")
        home.modem.network.deliver(RIDGE, "LINE 2 MADE 0719")
        home.sent(6)
        home.until(lambda: "the MQTT broker is not reached: " in caplog.text, "the journal says so")
        broker.start()
        second = listen()
        second.until(lambda _: second.kinds()[-1:] == ["low"] and second.last("tanks/tank/spring") is not ...)
        second.until(
            lambda _: second.last("tanks/tank/spring")["state"] == "low" and second.last("tanks/alarm/2") is not ...
        )
        ids = [*known, *second.ids()]
        assert ids == list(range(ids[0], ids[-1] + 1))
        assert second.last("tanks/tank/house")["state"] == "ok"
        assert second.last("tanks/alarm/1") in (..., None), "never there, or taken back"
    assert "Errno" not in caplog.text


def test_a_broker_that_is_stalled_in_the_middle(tmp_path, broker, listen):
    """It takes no more than what is under way; the household is told as ever, and once it goes on all comes in order."""
    ear = listen()
    with at_home(tmp_path, rest=mqtt(broker)) as home:
        ear.until(lambda _: ear.last("tanks/tank/house") is not ...)
        broker.signal(signal.SIGSTOP)
        for number, state in enumerate(("MADE", "BROKE", "MADE")):
            home.modem.network.deliver(RIDGE, f"LINE 1 {state} {number:04}")
            home.came("low" if state == "MADE" else "low-over", number // 2 + 1)
        home.sent(2)
        assert "low" not in ear.kinds()
        broker.signal(signal.SIGCONT)
        ear.until(lambda _: ear.kinds().count("low") == 2)
        assert ear.ids() == list(range(ear.ids()[0], ear.ids()[-1] + 1))


def test_a_stalled_broker_does_not_hold_the_end_up(tmp_path, broker):
    """Nor one that never answered."""
    with at_home(tmp_path, rest=mqtt(broker)) as home:
        home.until(
            lambda: home.built.daemon._mqtt._link is not None and home.built.daemon._mqtt._link.idle, "connected"
        )
        broker.signal(signal.SIGSTOP)
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.built.daemon.tell("stop")
        home.until(lambda: home.built.daemon.ended, "ended")
    broker.signal(signal.SIGCONT)


LIVES_AND_DIES = """
import os, sys, threading, time
from gateway.feeds.mqtt_link import Account, MqttLink
from gateway.feeds.mqtt_topics import Publication
said = [Publication(topic="tanks/gateway", payload=b'{"state": "%s"}' % state) for state in (b"lost", b"at-work")]
ready = threading.Event()
account = Account(url=sys.argv[1], user="", password=lambda: None, ca_file="", client_id="tank1")
link = MqttLink(account, said[0], lambda: said[1], ready.set, time.monotonic)
ready.wait(120)
os._exit(9)
"""


def test_a_gateway_that_is_gone_without_a_word(broker, listen):
    """The broker says so in its place, and retains it."""
    ear = listen()
    subprocess.run([sys.executable, "-c", LIVES_AND_DIES, f"mqtt://127.0.0.1:{broker.port}"], timeout=WITHIN_S)
    ear.until(lambda _: ear.last("tanks/gateway") == {"state": "lost"})
    assert {"state": "at-work"} in [document for _, document, _ in ear.heard]
    late = listen()
    late.until(lambda _: late.last("tanks/gateway") == {"state": "lost"})


@pytest.fixture
def guarded(tmp_path):
    """A broker with TLS and one user, `tank` with the password `seep`; its certificate is its own authority."""
    key, certificate, passwords = tmp_path / "key.pem", tmp_path / "certificate.pem", tmp_path / "passwords"
    subject = ["-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1,DNS:localhost"]
    made = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", *subject]
    try:
        subprocess.run([*made, "-keyout", str(key), "-out", str(certificate)], check=True, capture_output=True)
        subprocess.run(["mosquitto_passwd", "-b", "-c", str(passwords), "tank", "seep"], check=True)
    except FileNotFoundError as missing:
        pytest.skip(f"no {missing.filename} here")
    guard = f"certfile {certificate}\nkeyfile {key}\nallow_anonymous false\npassword_file {passwords}"
    broker = Mosquitto(tmp_path, guard)
    broker.start()
    yield broker, certificate
    broker.kill()


@pytest.mark.parametrize(
    ("password", "with_authority", "trouble"),
    [
        ("seep", True, ""),
        ("leak", True, "authori"),
        ("seep", False, "CERTIFICATE_VERIFY_FAILED"),
        (None, True, "No such file"),
    ],
)
def test_encrypted_and_by_password(tmp_path, guarded, password, with_authority, trouble):
    """What keeps us out is said, and costs nothing."""
    broker, certificate = guarded
    file = tmp_path / "mqtt-password"
    if password is not None:
        file.write_text(f"{password}\n")
    table = mqtts(broker, file, certificate if with_authority else None)
    with at_home(tmp_path, rest=table) as home:
        feed = home.built.daemon._mqtt
        home.until(lambda: feed._link is not None, "begun")
        home.until(lambda: trouble in feed._link.trouble if trouble else feed._link.connections == 1, trouble)
        assert not (trouble and feed._link.connections)
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)


def test_the_daemon_of_the_command_line_encrypts_too(tmp_path, guarded):
    """`serve` is imported without OpenSSL, which is loaded for the broker."""
    broker, certificate = guarded
    file = tmp_path / "mqtt-password"
    file.write_text("seep\n")
    running = Serve(write_config(tmp_path, rest=mqtts(broker, file, certificate)))
    try:
        running.logged("ModemReady")
        assert running.command("simulate", "LINE 1 MADE 0717", "--from", RIDGE).returncode == 0
        running.logged("send-ended")
        pause = threading.Event()
        while (published := _published(f"sqlite:///{tmp_path}/gateway.db")) is None or not published.event:
            assert running.process.poll() is None
            pause.wait(0.05)
        assert "libcrypto" in Path(f"/proc/{running.process.pid}/maps").read_text()
    finally:
        running.end()


def _published(url):
    with closing(open_store(url, "Quandong Ridge")) as store, store.read() as reader:
        return reader.state(MqttPublished)


def test_a_broker_that_is_not_there_is_looked_for_less_and_less_often(tmp_path, monkeypatch):
    """And the household is told as ever."""
    pauses = []
    monkeypatch.setattr(mqtt_link, "LONGEST_PAUSE_S", 0.4)
    real = mqtt_link.threading.Event

    class Noted(real):
        def wait(self, timeout=None):
            if timeout is not None and timeout < 1:
                pauses.append(round(timeout, 2))
            return super().wait(timeout)

    monkeypatch.setattr(mqtt_link.threading, "Event", Noted)
    with at_home(tmp_path, rest='[mqtt]\nurl = "mqtt://127.0.0.1:1"\n') as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.until(lambda: pauses.count(0.4) > 1, "pauses grow")
    grown = [pause for pause in pauses if pause in (0.1, 0.2, 0.4)]
    assert grown[:3] == [0.1, 0.2, 0.4]


def test_a_connection_that_is_soon_lost_is_no_reason_to_come_back_at_once(monkeypatch):
    """Two gateways of one name throw each other out without end; one that held for long is looked for at once."""
    monkeypatch.setattr(mqtt_link, "FIRST_PAUSE_S", 1.0)
    monkeypatch.setattr(mqtt_link, "LONGEST_PAUSE_S", 8.0)
    now_s, held_s, pauses = [0.0], [0, 0, 7.9, 0, 8, 1, 900], []
    over = mqtt_link.threading.Event()

    class Ended(mqtt_link.threading.Event):
        def wait(self, timeout=None):
            pauses.append(timeout)
            if not held_s:
                self.set()
                over.set()
            return self.is_set()

    class Lost(mqtt_link.MqttLink):
        def _live_through_a_connection(self):
            now_s[0] += held_s.pop(0)

    real = mqtt_link.threading
    monkeypatch.setattr(mqtt_link, "threading", SimpleNamespace(Event=Ended, Thread=real.Thread))
    Lost(None, None, None, None, lambda: now_s[0])
    assert over.wait(WITHIN_S) and pauses == [2.0, 4.0, 8.0, 8.0, 1.0, 2.0, 1.0]
