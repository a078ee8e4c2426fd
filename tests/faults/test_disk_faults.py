"""Rows 25, 26, 29 and 44 of the fault table: no room, a failing disk, a storm of errors, a job that raises."""

import logging
import random
import resource
import signal
from datetime import timedelta

import pytest

from gateway.errors import StoreDamaged, StoreFull, StoreUnwritable
from gateway.simulator import SimulatedModem
from tests.faults.board import UNLIMITED, Fresh, board, switch
from tests.household import RIDGE, ROBIN, WITHIN_S, WREN, write_config
from tests.service.test_serve import Serve


def test_row_25_no_room(tmp_path, seed, trials):
    """Full at any moment: texts stay on the SIM, it is said past the store once, and all goes on by itself."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED) as home:
        for number in range(trials(200)):
            home.modem.arrived.clear()
            home.store.broken = StoreFull("no room (a test)")
            text = switch(number)
            home.hears(RIDGE, text)
            home.pass_time(timedelta(seconds=rng.randrange(20, 400)), at_least_s=30)
            assert len(home.modem.slots) == 1, "the text stays on the SIM"
            assert [text.number for text in home.modem.arrived] == [WREN], "said once, to who looks after the gateway"
            home.store.broken = None
            home.pass_time(timedelta(minutes=2))
            assert not home.modem.slots and [text.text for text in home.texts("in")].count(text) == 1
            assert len(home.events("store-trouble")) == len(home.events("store-back")) == number + 1
            assert {text.number for text in home.modem.arrived[1:]} >= {WREN, ROBIN}


def test_row_25_an_answer_that_came_meanwhile_is_not_lost(tmp_path):
    """A message left while the disk was full: it is `sent` once there is room, and does not leave again."""
    with board(tmp_path) as home:
        home.modem.hold_news = True
        home.modem.deliver(RIDGE, "LINE 1 MADE 0717")
        home.modem.release(1)
        home.settle()
        assert len(home.modem.arrived) == 1
        home.store.broken = StoreFull("no room (a test)")
        home.modem.release()
        home.settle()
        home.store.broken = None
        home.modem.hold_news = False
        home.pass_time(timedelta(hours=2), at_least_s=30)
        home.modem.release()
        assert [text.number for text in home.modem.arrived if "LOW" in text.text] == [WREN, ROBIN]
        assert [text.state for text in home.texts("out") if "LOW" in text.text] == ["sent", "sent"]


@pytest.mark.parametrize(("heals", "ended"), [(True, False), (False, True)])
def test_row_25_an_io_error_right_after_a_full_disk_is_of_that(tmp_path, heals, ended):
    """SQLite calls a full disk an I/O error: the gateway ends for one only where it lasts a minute longer."""
    with board(tmp_path) as home:
        home.store.broken = StoreFull("no room (a test)")
        home.hears(RIDGE, "LINE 1 MADE 0717")
        home.store.broken = StoreUnwritable("I/O error (a test)")
        home.pass_time(timedelta(seconds=40))
        assert not home.daemon.ended
        home.store.broken = None if heals else home.store.broken
        for _ in range(12):
            if not home.daemon.ended:
                home.pass_time(timedelta(seconds=5))
        assert home.daemon.ended is ended
        if heals:
            assert not home.modem.slots and len(home.events("low")) == len(home.events("store-back")) == 1


def test_row_25_a_real_process_goes_on_by_itself(tmp_path):
    """The limit on file sizes of a live `serve` is taken down to what its store has, and lifted again."""
    link = tmp_path / "modem"
    config = write_config(tmp_path)
    config.write_text(config.read_text().replace('"simulated"', f'"{link}"'))
    with SimulatedModem(str(link)) as modem:
        running = Serve(config)
        running.logged("ModemReady")
        resource.prlimit(running.process.pid, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
        modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        running.logged("store-trouble")
        running.logged("told-past-the-store")
        assert modem.slots, "the text stays on the SIM"
        resource.prlimit(running.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
        running.logged("freed")
        assert running.process.poll() is None and running.end() == 0
        history = running.command("history").stdout
        assert "store-back" in history and "low" in history


@pytest.mark.parametrize("wrong", [StoreUnwritable, StoreDamaged])
def test_row_26_a_failing_disk_ends_the_gateway(tmp_path, wrong, seed, trials):
    """Read-only or failing at any moment: the SIM is untouched, who looks after it is told, and it ends by itself."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(200) // 2):
        home = fresh.board()
        home.start()
        home.hears(RIDGE, "STATION WELL 1")
        home.store.broken = wrong("I/O error (a test)")
        home.modem.deliver(RIDGE, "LINE 1 MADE 0717")
        held = dict(home.modem.slots)
        home.settle()
        for _ in range(rng.randrange(3, 8)):
            if not home.daemon.ended:
                home.pass_time(timedelta(seconds=10))
        assert home.daemon.ended and "I/O error" in home.daemon.refused
        assert home.modem.slots == held
        assert [text.number for text in home.modem.arrived] == [WREN]
        home.cut()


def test_row_26_a_read_only_place_is_refused_at_start(tmp_path):
    """A store that can be made nowhere: exit code 1 and words, the modem is not touched."""
    link = tmp_path / "modem"
    config = write_config(tmp_path)
    config.write_text(
        config.read_text()
        .replace('"simulated"', f'"{link}"')
        .replace(f"sqlite:///{tmp_path}/gateway.db", "sqlite:////proc/gateway/gateway.db")
    )
    with SimulatedModem(str(link)) as modem:
        running = Serve(config)
        assert running.process.wait(WITHIN_S) == 1
        running.logged("cannot be used")
        assert not modem.commands


def test_row_29_a_storm_of_errors_is_rate_limited(tmp_path, caplog, trials):
    """Thousands of mistakes in a minute: a bounded log, one event, one message; and the rest of the work goes on."""
    caplog.set_level(logging.DEBUG, "gateway")
    with board(tmp_path) as home:
        home.store.spoilt = "parts_heard_before"
        for _ in range(trials(5) * 1000):
            home.daemon._boundary.run(home.daemon.site, "storm", _raises)
        lines = [message for message in caplog.messages if message.startswith("action=mistake")]
        assert len(lines) <= 31
        assert len(home.events("odd")) == 1
        home.settle()
        assert len(home.modem.arrived) == 1


def _raises() -> None:
    raise RuntimeError("a storm")


@pytest.mark.parametrize("question", ["pauses", "parts_heard_before", "last_event", "alarms", "mark"])
def test_row_44_a_job_that_raises(tmp_path, question, seed, trials):
    """One of the time-driven jobs raises, for a while: deliveries go on, it is on record, and all is made up for after."""
    rng = random.Random(seed)
    parts = {"line": "", "controller": 'silence_after = "1h"\nask = { before_silence = "0s" }'}
    for trial in range(trials(100) // 5):
        folder = tmp_path / str(trial)
        folder.mkdir()
        with board(folder, **parts) as home:
            home.hears(RIDGE, "STATION WELL 1")
            home.store.spoilt = question
            home.pass_time(timedelta(minutes=rng.randrange(60, 90)), at_least_s=20)
            if question in ("parts_heard_before", "mark"):
                assert home.events("silent"), "what asks something else is done meanwhile"
            home.store.spoilt = None
            home.pass_time(timedelta(minutes=5))
            assert len(home.events("silent")) == 1, "the job was done in the end"
            assert {text.number for text in home.modem.arrived if "SILENT" in text.text.upper()} == {WREN}


def test_row_23_signs_of_life_stop_when_something_hangs(tmp_path, monkeypatch, trials):
    """A live `serve` pings its watchdog; held still it does not; killed and started again it is back."""
    import socket

    address = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listener:
        listener.bind(str(address))
        listener.settimeout(WITHIN_S)
        monkeypatch.setenv("NOTIFY_SOCKET", str(address))
        monkeypatch.setenv("WATCHDOG_USEC", "1000000")
        config = write_config(tmp_path)
        for _ in range(trials(20)):
            running = Serve(config)
            _hear(listener, b"READY=1")
            _hear(listener, b"WATCHDOG=1")
            running.process.send_signal(signal.SIGSTOP)
            _drain(listener)
            listener.settimeout(2)
            with pytest.raises(TimeoutError):
                listener.recv(1000)
            running.end(signal.SIGKILL)
            listener.settimeout(WITHIN_S)
        again = Serve(config)
        _hear(listener, b"READY=1")
        _hear(listener, b"WATCHDOG=1")
        assert again.end() == 0


def _hear(listener, word: bytes) -> None:
    while word not in listener.recv(1000):
        pass


def _drain(listener) -> None:
    listener.setblocking(False)
    try:
        while True:
            listener.recv(1000)
    except BlockingIOError:
        listener.setblocking(True)
