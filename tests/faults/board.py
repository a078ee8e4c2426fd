"""The whole gateway on one thread, taken through its steps by hand: real store, real flow, fake modem and clock below the ports.

`Board` is what stays when the power fails: the SIM's slots, what people got, the store's file, the wall clock. `start` puts a
daemon on it, `settle` lets it do all there is to do now, `pass_time` moves the clock from one due time to the next, `cut` pulls
the plug. With `cut_after(n)` the plug is pulled by itself at the n-th step: each call of the modem and each commit is two
steps, one before it takes effect and one after.
"""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

from gateway.facts import Event, Report
from gateway.gsm.tpdu_key import tpdu_key
from gateway.ports import SendJob, StoredText
from gateway.service.loop import Daemon
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.storage import open_store
from tests.fakes.fake_clock import FakeClock
from tests.fakes.fake_modem import FakeModem
from tests.household import write_config

REPEAT = "(Perhaps a repeat)"
UNLIMITED = "[limits]\nburst = 100000\ntexts_per_day = 1000000\na_day_each = 100000\nchatter = false\n"
"""For a household in which no limit holds a message back."""

MOST_STEPS = 5000


class PowerCut(BaseException):
    """The plug is pulled; nothing below the loop may catch it."""


class Violated(BaseException):
    """An invariant was broken in the midst of things; the guard may not swallow it."""


class Plug:
    """Counts steps, and pulls itself at a given one (`at`), or once these were seen in this order (`awaits`)."""

    def __init__(self) -> None:
        self.steps, self.at = 0, -1
        self.awaits: tuple[str, ...] = ()
        self.names: list[str] = []

    def step(self, name: str) -> None:
        """One step more."""
        self.steps += 1
        self.names.append(name)
        if self.awaits and name == self.awaits[0]:
            self.awaits = self.awaits[1:]
            if not self.awaits:
                raise PowerCut(name)
        if self.steps == self.at:
            raise PowerCut(name)


class PluggedModem(FakeModem):
    """The fake modem, its calls being steps; no text may be deleted that is not in the store (checked at each `free`)."""

    def __init__(self) -> None:
        super().__init__()
        self.sent_at: list[tuple[datetime, str]] = []

    plug: Plug
    is_stored: Callable[[str], bool]

    def sweep(self) -> None:
        """A step before and after."""
        self.plug.step("before sweep")
        super().sweep()
        self.plug.step("after sweep")

    def free(self, held) -> None:
        """A step before and after each slot."""
        for held_pdu in held:
            self.plug.step("before free")
            if not isinstance(held_pdu.content, Report) and not self.is_stored(held_pdu.pdu):
                raise Violated(f"deleted before it was stored: {held_pdu.pdu}")
            super().free([held_pdu])
            self.plug.step("after free")

    def send(self, job) -> None:
        """A step before and after."""
        self.plug.step("before send")
        self.sent_at.append((self.now(), job.number))
        super().send(job)
        self.plug.step("after send")


class Spoilt:
    """A transaction in which one question raises, as a mistake of ours would."""

    def __init__(self, tx, name: str) -> None:
        self._tx, self._name = tx, name

    def __getattr__(self, name: str):
        if name == self._name:
            raise RuntimeError(f"{name} was spoilt by a test")
        return getattr(self._tx, name)


class PluggedStore:
    """The real store; each commit is two steps. `broken`: what a write raises. `spoilt`: a question that raises."""

    def __init__(self, store, plug: Plug) -> None:
        self.real, self._plug = store, plug
        self.broken: Exception | None = None
        self.spoilt: str | None = None

    @contextmanager
    def write(self):
        """A step before and after the commit."""
        if self.broken is not None:
            raise self.broken
        with self.real.write() as tx:
            yield Spoilt(tx, self.spoilt) if self.spoilt else tx
            self._plug.step("before commit")
        self._plug.step("after commit")

    def read(self):
        """As it is."""
        return self.real.read()

    def backup(self, file: str) -> None:
        """As it is."""
        self.real.backup(file)

    def close(self) -> None:
        """As it is."""
        self.real.close()


class Board:
    """One household's gateway and its world."""

    def __init__(self, folder: Path, clock: FakeClock | None = None, **parts: str) -> None:
        self.folder = folder
        self.config = write_config(folder, **parts)
        self.settings = load(str(self.config)).settings
        self.clock = clock or FakeClock()
        self.plug = Plug()
        self.modem = PluggedModem()
        self.modem.plug, self.modem.is_stored = self.plug, self._is_stored
        self.modem.now = lambda: self.clock.now().replace(microsecond=0)
        self.daemon: Daemon | None = None
        self.store: PluggedStore | None = None

        self.wake_ups = 0

    def reload_settings(self) -> None:
        """The configuration was changed before the start."""
        self.settings = load(str(self.config)).settings

    # --- the gateway's life ---

    def start(self) -> None:
        """Power on: the store is opened as at any start, the daemon begins, and does all there is to do."""
        self.store = PluggedStore(open_store(self.settings.store.url, self.settings.site.name), self.plug)
        self.daemon = Daemon(
            site=compile_site(self.settings),
            store=self.store,
            modem=self.modem,
            clock=self.clock,
            reload=lambda: load(str(self.config)).settings,
        )
        self.daemon.begin()
        self.settle()

    def settle(self) -> None:
        """Steps until nothing waits."""
        assert self.daemon is not None
        for _ in range(MOST_STEPS):
            self.daemon.step(0)
            if self.daemon.idle or self.daemon.ended:
                return
        raise AssertionError(f"the daemon never comes to rest: {self.plug.names[-12:]}")

    def hears(self, sender: str, text: str, **how: object) -> tuple[str, ...]:
        """A text comes, and all there is to do about it is done."""
        pdus = self.modem.deliver(sender, text, **how)
        self.settle()
        return pdus

    def pass_time(self, span: timedelta, *, at_least_s: float = 0.0) -> None:
        """Time passes; the daemon wakes when it asked to (`at_least_s`: not more often than that)."""
        left = span.total_seconds()
        assert self.daemon is not None
        while left > 0:
            hop = min(max(self.daemon.wait_s, at_least_s), left)
            self.clock.advance(hop)
            left -= hop
            self.wake_ups += 1
            self.settle()

    def cut_after(self, steps: int) -> None:
        """The plug is pulled at that many steps from now."""
        self.plug.at = self.plug.steps + steps

    def cut_at(self, *names: str) -> None:
        """The plug is pulled once steps of these names came in this order."""
        self.plug.awaits = names

    def cut(self) -> None:
        """Power off: what was in memory is gone."""
        self.plug.at, self.plug.awaits = -1, ()
        self.modem.cut()
        if self.store is not None:
            self.store.close()
        self.daemon = self.store = None

    def run_cut(self, work: Callable[[], None]) -> bool:
        """Does the work; True if the plug was pulled meanwhile (and everything is off now)."""
        try:
            work()
        except PowerCut:
            self.cut()
            return True
        self.plug.at = -1
        return False

    # --- what there is to see ---

    def events(self, *kinds: str) -> list[Event]:
        """What is on record."""
        assert self.store is not None
        with self.store.read() as reader:
            return [event for event in reader.events() if not kinds or event.kind in kinds]

    def texts(self, way: str) -> list[StoredText]:
        """Texts in or out, without the lines of what was taken for a repeat."""
        return [text for text in self._all_texts() if text.way == way and text.state != "repeat"]

    def repeats(self) -> list[StoredText]:
        """What was taken for a repeat, each with its line."""
        return [text for text in self._all_texts() if text.state == "repeat"]

    def _all_texts(self) -> tuple[StoredText, ...]:
        assert self.store is not None
        with self.store.read() as reader:
            return reader.texts()

    def arrived(self, number: str | None = None) -> list[str]:
        """What people got."""
        return [text.text for text in self.modem.arrived if number is None or text.number == number]

    def unmarked(self) -> list[SendJob]:
        """What people got without a mark."""
        return [text for text in self.modem.arrived if not text.text.startswith(REPEAT)]

    def _is_stored(self, pdu: str) -> bool:
        if self.store is None:
            return False
        import sqlite3

        file = self.folder / "gateway.db"
        connection = sqlite3.connect(f"file:{file}?mode=ro", uri=True)
        try:
            found = connection.execute("SELECT count(*) FROM arrivals WHERE key = ?", (tpdu_key(pdu),)).fetchone()
        finally:
            connection.close()
        return bool(found[0])


def switch(number: int) -> str:
    """The float of input 1 to and fro, each text its own."""
    return f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}"


@contextmanager
def board(folder: Path, **parts: str) -> Iterator[Board]:
    """A started board; off at the end."""
    made = Board(folder, **parts)
    made.start()
    try:
        yield made
    finally:
        made.cut()


class Fresh:
    """A fresh store for each trial, copied from one that was made once."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._count = folder, 0
        first = folder / "empty"
        first.mkdir()
        config = write_config(first)
        open_store(load(str(config)).settings.store.url, load(str(config)).settings.site.name).close()
        self._file = first / "gateway.db"

    def board(self, **parts: str) -> Board:
        """A board that was not started yet."""
        self._count += 1
        folder = self._folder / f"trial-{self._count}"
        folder.mkdir()
        made = Board(folder, **parts)
        shutil.copy(self._file, folder / "gateway.db")
        return made
