"""A line from another program → a text into the simulated network of a `serve` that runs.

A Unix datagram socket beside the store; each datagram is one JSON object `{"from", "text"}`. Only the owner may write.
"""

import contextlib
import json
import os
import socket
import tempfile
import threading
from pathlib import Path

from gateway.settings.sharing import gateway_file_name
from gateway.simulator.simulated_modem import SimulatedModem

LARGEST_BYTES = 65536
STOP_SECONDS = 1.0
LONGEST_PATH = 100
"""A Unix socket's path has room for 107 bytes (unix(7))."""


class Control:
    """The thread that listens; `stop` ends it and removes the socket."""

    def __init__(self, path: str, modem: SimulatedModem) -> None:
        self._path, self._modem = Path(path), modem
        self._path.unlink(missing_ok=True)
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.bind(path)
        self._path.chmod(0o600)
        self._thread = threading.Thread(target=self._run, name="simulated-control", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Within a second. Twice is once."""
        if self._thread.is_alive():
            with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as last:
                last.sendto(b"", str(self._path))
            self._thread.join(STOP_SECONDS)
        self._socket.close()
        self._path.unlink(missing_ok=True)

    def _run(self) -> None:
        while data := self._socket.recv(LARGEST_BYTES):
            try:
                asked = json.loads(data)
                self._modem.network.deliver(str(asked["from"]), str(asked["text"]))
            except (ValueError, KeyError, TypeError):
                continue  # no text that a network could bring; whoever sent it waits for no answer


def control_path(store_url: str, site: str = "") -> str:
    """Where the socket of that site's gateway is: beside its SQLite file, else in the folder for such things."""
    scheme, _, rest = store_url.partition(":///")
    beside = f"{rest}.simulated" if scheme.startswith("sqlite") and rest else ""
    if beside and len(os.fsencode(beside)) <= LONGEST_PATH:
        return beside
    folder = os.environ.get("XDG_RUNTIME_DIR") or tempfile.gettempdir()
    return str(Path(folder) / f"{gateway_file_name(store_url, site)}.simulated")


def serve_control(path: str, modem: SimulatedModem) -> Control:
    """Starts to listen there."""
    return Control(path, modem)


def inject(path: str, sender: str, text: str) -> None:
    """Brings a text into that network. Raises OSError where nobody listens."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
        line.sendto(json.dumps({"from": sender, "text": text}).encode(), path)
