"""A `serve` process at work on a simulated modem of the test's own, with a box in the field that can be wired wrongly."""

import json
import subprocess
import threading
from contextlib import contextmanager
from zoneinfo import ZoneInfo

from gateway.simulator import SimulatedModem
from gateway.simulator.wired_box import WiredBox
from tests.household import RIDGE, write_config
from tests.service.test_serve import PROGRAM, Serve

ZONE = ZoneInfo("Australia/Sydney")
WITHIN_S = 120.0


class Field:
    """The modem's network, the box, the daemon and the commands beside it."""

    def __init__(self, folder, **parts):
        self.modem = SimulatedModem(str(folder / "field-port"))
        self.modem.start()
        file = write_config(folder, **parts)
        text = file.read_text("utf-8").replace('device = "simulated"', f'device = "{folder}/field-port"')
        file.write_text(text, "utf-8")
        self.network = self.modem.network
        self.box = WiredBox(self.network, RIDGE, ZONE)
        self.serve = Serve(file)
        self.serve.logged("ModemReady")

    def begins(self, *arguments):
        """A command that waits for something: its process."""
        return subprocess.Popen(
            [*PROGRAM, *arguments, "--config", self.serve.config],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True,
        )  # fmt: skip

    def command(self, *arguments):
        """(exit code, what it printed, what it said of errors)."""
        done = self.serve.command(*arguments)
        return done.returncode, done.stdout, done.stderr

    def document(self, *arguments):
        """(exit code, its JSON)."""
        code, out, err = self.command(*arguments, "--json")
        return code, json.loads(out), err

    def got(self, number):
        """The messages that have arrived at a phone, by now."""
        return [sent.text for sent in tuple(self.network.outgoing) if sent.number == number]

    def until(self, holds, what):
        """Waits until it holds."""
        wait = threading.Event()
        for _ in range(int(WITHIN_S / 0.05)):
            found = holds()
            if found:
                return found
            wait.wait(0.05)
        raise AssertionError(f"not within {WITHIN_S} s: {what}")

    def end(self):
        """Everything stops."""
        if self.serve.process.poll() is None:
            self.serve.end()
        self.modem.stop()


@contextmanager
def in_the_field(folder, **parts):
    """The field, until the end of the block."""
    field = Field(folder, **parts)
    try:
        yield field
    finally:
        field.end()
