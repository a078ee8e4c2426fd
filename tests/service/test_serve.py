"""`serve` as a real process on the simulated modem and on a pty: signals, second instances, kill -9."""

import ctypes
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from gateway.simulator import SimulatedModem
from tests.household import RIDGE, write_config

WITHIN_S = 120.0
PROGRAM = [sys.executable, "-m", "gateway"]


LIBC, PR_SET_PDEATHSIG = ctypes.CDLL(None), 1


def _end_with_the_tests():
    """A `serve` that outlives a killed test run opens every five seconds what its link names, and so some later test's pseudo-terminal."""
    LIBC.prctl(PR_SET_PDEATHSIG, signal.SIGKILL)


class Serve:
    """A `serve` process and the other commands on its configuration."""

    def __init__(self, config):
        self.config = str(config)
        self.process = subprocess.Popen(
            [*PROGRAM, "serve", "--config", self.config],
            stderr=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            preexec_fn=_end_with_the_tests,
        )
        self.lines = []
        self._changed = threading.Condition()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        for line in self.process.stderr:
            with self._changed:
                self.lines.append(line)
                self._changed.notify_all()

    def logged(self, word):
        """Waits for a log line."""
        with self._changed:
            came = self._changed.wait_for(lambda: any(word in line for line in self.lines), WITHIN_S)
            assert came, f"{word} was not logged: {''.join(self.lines)}"

    def command(self, *arguments):
        """Runs another command on the same configuration."""
        return subprocess.run(
            [*PROGRAM, *arguments, "--config", self.config], capture_output=True, text=True, timeout=WITHIN_S * 2
        )

    def end(self, number=signal.SIGTERM):
        """Signals it and waits."""
        self.process.send_signal(number)
        return self.process.wait(WITHIN_S)


@pytest.fixture
def serve(tmp_path):
    """A serve on the simulated modem."""
    running = Serve(write_config(tmp_path))
    running.logged("ModemReady")
    yield running
    if running.process.poll() is None:
        running.end(signal.SIGKILL)


def test_a_text_becomes_history_and_sigterm_ends_it(serve):
    """One terminal serves, a second injects and looks; SIGTERM ends it within five seconds with exit code 0."""
    assert serve.command("simulate", "LINE 1 MADE 0717", "--from", "0491 570 006").returncode == 0
    serve.logged("send-ended")
    assert "House tank" in serve.command("history").stdout
    began = time.monotonic()
    assert serve.end() == 0
    assert time.monotonic() - began < 5
    assert "gateway-stopped" in serve.command("history").stdout


def test_it_stays_without_openssl(serve):
    """4.6 MB that nothing here uses: asyncio and hashlib load it where they find it."""
    assert serve.command("simulate", "LINE 1 MADE 0717", "--from", "0491 570 006").returncode == 0
    serve.logged("send-ended")
    mapped = Path(f"/proc/{serve.process.pid}/maps").read_text()
    assert "pydantic_core" in mapped and "libcrypto" not in mapped and "libssl" not in mapped


def test_signals_are_waited_for_and_interrupt_nothing(serve):
    """Only the thread that waits for them takes them: a handler would be late by up to a minute where the loop is about to wait."""
    ours = sum(1 << (number - 1) for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGUSR1))
    takes = []
    for task in Path(f"/proc/{serve.process.pid}/task").iterdir():
        said = dict(line.split(":", 1) for line in (task / "status").read_text().splitlines())
        takes += [task.name] if int(said["SigBlk"], 16) & ours != ours else []
    assert len(takes) <= 1 and str(serve.process.pid) not in takes
    serve.process.send_signal(signal.SIGHUP)
    serve.logged("action=reloaded")
    assert serve.end(signal.SIGINT) == 0


def test_a_second_instance_on_the_store_is_refused_in_words(serve):
    """The second says who has it and exits 1."""
    second = serve.command("serve")
    assert (
        second.returncode == 1 and f"process {serve.process.pid}" in second.stderr and "Traceback" not in second.stderr
    )


def test_row_35_reload_keeps_the_old_configuration_when_the_new_one_is_wrong(serve, tmp_path):
    """SIGHUP with a mistake: said with its line, now and in the history, and the old one stays in force."""
    file = tmp_path / "gateway.toml"
    good = file.read_text()
    file.write_text(good.replace("[site]", "[sit]"))
    serve.process.send_signal(signal.SIGHUP)
    serve.logged("reload-refused")
    refused = 'gateway.toml:2: sit: unknown key; did you mean "site"?'
    serve.logged(refused)
    file.write_text(good.replace('"House tank"', '"Big tank"'))
    serve.process.send_signal(signal.SIGHUP)
    serve.logged("action=reloaded")
    assert refused in serve.command("history").stdout


def test_row_09_a_port_that_somebody_holds_is_refused_in_words(tmp_path, trials):
    """Two gateways on one port: the second says so and exits 1 (fault 9)."""
    with SimulatedModem() as modem:
        one, two = tmp_path / "one", tmp_path / "two"
        configs = []
        for folder in (one, two):
            folder.mkdir()
            config = write_config(folder)
            config.write_text(config.read_text().replace('"simulated"', f'"{modem.device}"'))
            configs.append(config)
        first = Serve(configs[0])
        first.logged("ModemReady")
        for _ in range(trials(20)):
            second = Serve(configs[1])
            assert second.process.wait(WITHIN_S) == 1
            second.logged("another program holds")
        assert first.end() == 0


def test_a_device_that_is_not_there_is_said_and_tried_again(tmp_path):
    """A board boots faster than its modem: serve waits for it and goes on by itself."""
    link = tmp_path / "modem"
    config = write_config(tmp_path)
    config.write_text(config.read_text().replace('"simulated"', f'"{link}"'))
    running = Serve(config)
    running.logged("there is no modem")
    with SimulatedModem(str(link)) as modem:
        running.logged("ModemReady")
        modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        modem.network.wait_for_outgoing(2, WITHIN_S)
        assert running.end() == 0


def test_row_21_kill_nine_loses_nothing(tmp_path, trials):
    """Killed at random moments, every text that the modem stored is stored once by the end (fault 21; the soak does 300)."""
    link = tmp_path / "modem"
    config = write_config(tmp_path)
    config.write_text(config.read_text().replace('"simulated"', f'"{link}"'))
    with SimulatedModem(str(link)) as modem:
        for number in range(min(trials(300), 5) if trials(300) < 300 else 300):
            running = Serve(config)
            modem.network.deliver(RIDGE, f"STATION WELL {number}")
            threading.Event().wait(0.5 + 0.1 * (number % 7))
            running.end(signal.SIGKILL)
        running = Serve(config)
        running.logged("ModemReady")
        modem.network.deliver(RIDGE, "STATION WELL last")
        running.logged("freed")
        assert running.end() == 0
        texts = running.command("texts").stdout
        count = min(trials(300), 5) if trials(300) < 300 else 300
        assert [texts.count(f"STATION WELL {number}\n") for number in range(count)] == [1] * count
