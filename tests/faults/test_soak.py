"""The soak: mixed faults for half an hour on a daemon at work on the simulated modem, and kill -9 of the real process.

Nothing lost, nothing doubled unmarked, and neither threads nor file handles left behind. `--minutes` shortens it, `--seed`
replays the order of the faults (not their timing) and says which make of modem meets them.
"""

import os
import random
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from gateway.modem import Times
from gateway.simulator import Faults, Policy, SimulatedModem
from gateway.simulator.makes import MAKES
from tests.faults.board import REPEAT, UNLIMITED
from tests.faults.wrong_clocks import CENTRES, CLOCKS, WrongClock, centre_time
from tests.household import RIDGE, ROBIN, WREN, Home, at_home

QUICK = Times(command_s=0.5, prompt_s=0.5, result_s=0.5, wake_s=2.0, list_s=1.0, settle_s=0.05)
LINE = 'sweep_every = "2s"'
CHANGES = ("low", "low-over")
REST_WITHIN_S = 120.0
ENDS_WITHIN_S = 10.0


class Mixed:
    """One history of faults on one modem."""

    def __init__(self, modem: SimulatedModem, rng: random.Random) -> None:
        self.modem, self.rng = modem, rng
        self.sent: list[str] = []
        self.met: Counter[str] = Counter()

    def text(self) -> None:
        """The controller texts; now and then the network brings it twice."""
        said = f"LINE {self.rng.choice('12')} {self.rng.choice(('MADE', 'BROKE'))} N{len(self.sent):05}"
        self.sent.append(said)
        self.modem.network.deliver(RIDGE, said, repeat=self.rng.random() < 0.2)

    def fault(self) -> None:
        """Something happens."""
        kind = self.rng.choice(
            ("unplug", "reset", "mute", "noise", "lost", "delete", "refuse", "fate", "busy", "wire", "none")
        )
        self.met[kind] += 1
        getattr(self, f"_{kind}")()

    def all_well(self) -> None:
        """Every fault ends."""
        for name, value in vars_of(Faults()).items():
            setattr(self.modem.faults, name, value)
        for number in (WREN, ROBIN):
            self.modem.network.policy(number, Policy())

    def _unplug(self) -> None:
        self.modem.unplug()
        self.modem.plug()

    def _reset(self) -> None:
        self.modem.reset()

    def _mute(self) -> None:
        self.modem.faults.mute = True
        pause(self.rng.uniform(0.2, 3.0))
        self.modem.faults.mute = False

    def _noise(self) -> None:
        self.modem.faults.noise, self.modem.faults.strewn = 0.2, 0.3

    def _lost(self) -> None:
        self.modem.faults.lost_announcements = 0.7

    def _delete(self) -> None:
        self.modem.faults.delete_error = 500

    def _refuse(self) -> None:
        self.modem.network.policy(self.rng.choice((WREN, ROBIN)), Policy(refuse=41), times=2)

    def _fate(self) -> None:
        self.modem.faults.lost_answers = 1

    def _busy(self) -> None:
        self.modem.faults.busy = 14
        pause(self.rng.uniform(0.2, 1.5))
        self.modem.faults.busy = None

    def _wire(self) -> None:
        self.modem.faults.loss_out = 0.005

    def _none(self) -> None:
        self.all_well()


def vars_of(faults: Faults) -> dict[str, object]:
    """A Faults' fields (it has slots)."""
    return {name: getattr(faults, name) for name in Faults.__slots__}


def pause(seconds: float) -> None:
    """Lets the daemon and its modem work; no test outcome hangs on it."""
    threading.Event().wait(seconds)


@pytest.mark.soak
def test_mixed_faults_for_half_an_hour(tmp_path, request, seed):
    """Faults of every sort over restarts; then all comes to rest and the account is made."""
    rng = random.Random(seed)
    ends = time.monotonic() + 60 * request.config.getoption("--minutes")
    make = sorted(MAKES)[seed % len(MAKES)]
    with SimulatedModem(str(tmp_path / "modem-port"), habits=MAKES[make], seed=seed) as modem:
        mixed = Mixed(modem, rng)
        threads, handles = set(threading.enumerate()), _handles()
        lives = 0
        while time.monotonic() < ends:
            lives += 1
            with at_home(tmp_path, modem=modem, times=QUICK, line=LINE, rest=UNLIMITED):
                for _ in range(rng.randrange(5, 40)):
                    mixed.text()
                    if rng.random() < 0.3:
                        mixed.fault()
                    pause(rng.uniform(0.05, 1.0))
            assert _left_behind(threads) == [], "a thread was left behind"
            assert _handles() <= handles + 2, "a file handle was left behind"
        mixed.all_well()
        with at_home(tmp_path, modem=modem, times=QUICK, line=LINE, rest=UNLIMITED) as home:
            _comes_to_rest(home, mixed)
            _account(home, mixed)
        print(
            f"{make}: {lives} lives, {len(mixed.sent)} texts, {len(modem.network.outgoing)} messages, faults {dict(mixed.met)}"
        )


ROUND_S = 30.0
PATIENT = Times(command_s=1.0, prompt_s=1.0, result_s=5.0, wake_s=4.0, list_s=2.0, settle_s=0.05, condition_every_s=5.0)


@pytest.mark.soak
def test_makes_networks_and_clocks_in_turn(tmp_path, request, seed):
    """Each make in turn, each with other clocks, the centre's and our own: mixed faults over restarts, then rest and the account, again
    and again."""
    ends = time.monotonic() + 60 * request.config.getoption("--minutes")
    makes, done = sorted(MAKES), Counter()
    texts = number = 0
    while time.monotonic() < ends:
        make, centre, clock = (kinds[(seed + number) % len(kinds)] for kinds in (makes, CENTRES, CLOCKS))
        texts += _one_round(tmp_path / str(number), make, centre, clock, seed + number)
        done.update(("rounds", make, f"centre: {centre}", f"our clock: {clock}"))
        number += 1
    print(f"from seed {seed}, {texts} texts: {dict(done)}")


def _one_round(folder: Path, make: str, centre: str, clock_kind: str, seed: int) -> int:
    """How many texts came in it."""
    folder.mkdir()
    rng, ends = random.Random(seed), time.monotonic() + ROUND_S
    clock = WrongClock(clock_kind, rng)
    with SimulatedModem(str(folder / "modem-port"), habits=MAKES[make], seed=seed, now=centre_time(centre)) as modem:
        mixed = Mixed(modem, rng)
        while time.monotonic() < ends:
            clock.board_wakes()
            with at_home(folder, modem=modem, times=PATIENT, clock=clock, line=LINE, rest=UNLIMITED):
                for _ in range(rng.randrange(5, 20)):
                    mixed.text()
                    if rng.random() < 0.3:
                        mixed.fault()
                    if rng.random() < 0.1:
                        clock.fault()
                    pause(rng.uniform(0.05, 1.0))
        mixed.all_well()
        clock.set_right()
        with at_home(folder, modem=modem, times=PATIENT, clock=clock, line=LINE, rest=UNLIMITED) as home:
            try:
                _comes_to_rest(home, mixed)
                _account(home, mixed)
            except AssertionError as wrong:
                raise AssertionError(
                    f"{make}, centre {centre}, our clock {clock_kind}, seed {seed}: {wrong}"
                ) from wrong
    return len(mixed.sent)


def _comes_to_rest(home: Home, mixed: Mixed) -> None:
    until = time.monotonic() + REST_WITHIN_S
    while time.monotonic() < until:
        stored = {text.text for text in home.texts("in")}
        if stored >= set(mixed.sent) and not home.modem.slots:
            return
        pause(0.5)
    stored = {text.text for text in home.texts("in")}
    missing = [text for text in mixed.sent if text not in stored]
    raise AssertionError(
        f"{len(missing)} of {len(mixed.sent)} not stored: {missing[:12]}; stored and never sent: {sorted(stored - set(mixed.sent))[:12]}; "
        f"{len(home.modem.network.waiting)} wait at the network; in slots: {home.modem.slots}; {home.events('unread', 'odd')[-12:]}"
    )


def _account(home: Home, mixed: Mixed) -> None:
    stored = Counter(text.text for text in home.texts("in"))
    assert [text for text in mixed.sent if not stored[text]] == [], "each accepted text"
    # what comes again after another text of the sender is a new text, and says so (row 62)
    with home.built.store.read() as reader:
        events = [event for event in reader.events() if event.text in mixed.sent]
    marked = {(event.text, event.at, event.heard_at) for event in events if event.detail.get("perhaps_repeat")}
    again = Counter(text for text, _, _ in marked)
    assert {text: stored[text] for text in mixed.sent if stored[text] - again[text] > 1} == {}, "no repeat unmarked"
    unmarked = Counter(event.text for event in events if event.kind in CHANGES and "perhaps_repeat" not in event.detail)
    assert {text: count for text, count in unmarked.items() if count > 1} == {}, "no change twice without a mark"
    told = Counter(
        (message.number, message.text) for message in home.modem.network.outgoing if not message.text.startswith(REPEAT)
    )
    written = Counter((text.number, text.text) for text in home.texts("out"))
    doubled = {key: count for key, count in told.items() if count > written[key]}
    assert not doubled, f"left twice without a mark: {doubled}"


def _left_behind(before: set[threading.Thread]) -> list[str]:
    """The names of the threads that do not end; one that is in the middle of a command of the modem has its time for it."""
    new = set(threading.enumerate()) - before
    for thread in new:
        thread.join(ENDS_WITHIN_S)
    return [thread.name for thread in new if thread.is_alive()]


def _handles() -> int:
    return len(os.listdir("/proc/self/fd"))  # noqa: PTH208  # counted, not walked


@pytest.mark.soak
def test_any_octets_by_coverage(tmp_path):
    """The PDU decoder and the rule engine under a coverage-guided fuzzer, where it is installed (pip install atheris)."""
    import subprocess
    import sys

    pytest.importorskip("atheris", reason="atheris is not installed (it has no build for this machine's Python)")
    ended = subprocess.run(
        [sys.executable, "-m", "tests.faults.fuzz", "-max_total_time=120", f"-artifact_prefix={tmp_path}/"],
        capture_output=True,
        text=True,
        timeout=400,
    )
    assert ended.returncode == 0, ended.stderr[-2000:]
