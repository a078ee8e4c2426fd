"""A real broker (mosquitto, as Debian has it) and somebody who listens to it."""

import json
import os
import shutil
import signal
import socket
import subprocess
import threading
from pathlib import Path

import paho.mqtt.client as paho
import pytest
from paho.mqtt.enums import CallbackAPIVersion

WITHIN_S = 120.0
PROGRAM = shutil.which("mosquitto", path=f"{os.environ.get('PATH', '')}:/usr/sbin")
needs_mosquitto = pytest.mark.skipif(PROGRAM is None, reason="no broker here: apt install mosquitto")


def free_port() -> int:
    """A port of this machine that nobody has."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Mosquitto:
    """A broker that keeps nothing over a restart; `more`: lines for its configuration."""

    def __init__(self, folder: Path, more: str = "allow_anonymous true") -> None:
        self.port, self._process = free_port(), None
        self._config = folder / "mosquitto.conf"
        self._config.write_text(f"listener {self.port} 127.0.0.1\npersistence false\nuser root\n{more}\n")

    def start(self) -> None:
        """Up, and taking connections."""
        self._process = subprocess.Popen(
            [PROGRAM, "-c", str(self._config)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        for _ in range(int(WITHIN_S / 0.02)):
            try:
                socket.create_connection(("127.0.0.1", self.port), 1.0).close()
                return
            except OSError:
                threading.Event().wait(0.02)
        raise AssertionError("the broker does not come up")

    def signal(self, what: signal.Signals) -> None:
        """To its process."""
        self._process.send_signal(what)

    def kill(self) -> None:
        """Gone without a word."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None


class Listener:
    """A client that subscribes to everything and notes what comes, in its order."""

    def __init__(self, port: int) -> None:
        self.heard: list[tuple[str, object, bool]] = []
        self._came = threading.Condition()
        self._client = paho.Client(CallbackAPIVersion.VERSION2, client_id=f"listener-{id(self)}")
        self._client.on_message = self._note
        self._client.on_connect = lambda client, *_: client.subscribe("#", qos=1)
        self._client.connect("127.0.0.1", port)
        self._client.loop_start()

    def _note(self, _client, _data, message) -> None:
        document = json.loads(message.payload) if message.payload else None
        with self._came:
            self.heard.append((message.topic, document, message.retain))
            self._came.notify_all()

    def until(self, true) -> None:
        """Waits until it holds of what came."""
        with self._came:
            assert self._came.wait_for(lambda: true(self), WITHIN_S), self.heard

    def kinds(self) -> list[str]:
        """The kinds of the events that came."""
        return [document["kind"] for topic, document, _ in list(self.heard) if topic.endswith("/event")]

    def ids(self) -> list[int]:
        """Their ids."""
        return [document["id"] for topic, document, _ in list(self.heard) if topic.endswith("/event")]

    def last(self, topic: str) -> object:
        """What came last under that topic; `...`: nothing did."""
        return next((document for of, document, _ in reversed(list(self.heard)) if of == topic), ...)

    def close(self) -> None:
        """Goes."""
        self._client.disconnect()
        self._client.loop_stop()
