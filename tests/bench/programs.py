"""A program under measurement as a process of its own, on a simulated modem that lives in this one."""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from gateway.simulator import Habits, SimulatedModem
from tests.household import write_config

WITHIN_S = 60.0
UNLIMITED = "[limits]\nburst = 100000\ntexts_per_day = 1000000\na_day_each = 1000000\nchatter = false\n"
ROOT = Path(__file__).parents[2]
GATEWAY = (sys.executable, "-m", "gateway")


class Program:
    """A started program whose standard error (and output) can be waited on."""

    def __init__(self, *arguments: str) -> None:
        self.process = subprocess.Popen(
            arguments, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment()
        )
        self.lines: list[str] = []
        self._changed = threading.Condition()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def said(self, word: str, *, times: int = 1) -> None:
        """Waits until it said the word so often."""
        with self._changed:
            enough = self._changed.wait_for(lambda: sum(word in line for line in self.lines) >= times, WITHIN_S)
        if not enough:
            raise TimeoutError(f"{word!r} was not said: {self.lines[-5:]}")

    def end(self) -> None:
        """SIGTERM, and waits."""
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(WITHIN_S)
        self._reader.join(WITHIN_S)

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            with self._changed:
                self.lines.append(line)
                self._changed.notify_all()


def cpu_s(program: Program) -> float:
    """Processor time of the running program since its start."""
    fields = Path(f"/proc/{program.process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def environment() -> dict[str, str]:
    """This one's, and our modules are found."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "TANK_GATEWAY_DEBUG": "1"}


def config_on(folder: Path, device: str, **parts: str) -> Path:
    """The household's file for a real device."""
    file = write_config(folder, **{"rest": UNLIMITED, **parts})
    file.write_text(file.read_text("utf-8").replace('"simulated"', f'"{device}"'), "utf-8")
    return file


@contextmanager
def at_modem(habits: Habits) -> Iterator[SimulatedModem]:
    """A simulated modem that is plugged in."""
    with SimulatedModem(habits=habits) as modem:
        yield modem


@contextmanager
def serving(folder: Path, modem: SimulatedModem, **parts: str) -> Iterator[Program]:
    """`serve` at rest on this modem: ready, its store swept, its start-up done."""
    program = Program(*GATEWAY, "serve", "--config", str(config_on(folder, modem.device, **parts)))
    program.said("Condition")
    try:
        yield program
    finally:
        program.end()


@contextmanager
def minimal(folder: Path, modem: SimulatedModem, *more: str) -> Iterator[Program]:
    """The least that a script can do, on this modem."""
    program = Program(sys.executable, "-m", "tests.bench.minimal", modem.device, str(folder / "minimal.db"), *more)
    program.said("ready")
    try:
        yield program
    finally:
        program.end()
