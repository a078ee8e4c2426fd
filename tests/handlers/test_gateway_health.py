"""The gateway's own troubles: each told once when it begins and once when it is over, also over restarts of the daemon."""

import shutil
from collections import namedtuple
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.facts import Message
from gateway.facts.states.gateway_itself import ModemCondition
from gateway.handlers import gateway_health, gateway_life
from gateway.handlers.due import do_what_is_due
from gateway.handlers.memory_room import watch_memories
from gateway.ports import MemoryRoom
from gateway.service.lifesign import LifeSign
from gateway.simulator import SimulatedModem
from gateway.status.gateway_troubles import signal_dues
from gateway.status.next_due import next_due
from gateway.status.waiting import outbox_dues
from tests.fakes.fake_clock import FakeClock
from tests.handlers.days import Days
from tests.household import RIDGE, WREN, at_home

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
M, H = timedelta(minutes=1), timedelta(hours=1)
MB, GB = 10**6, 10**9


@pytest.fixture
def days(tmp_path):
    """The household at work since the first moment."""
    made = Days(tmp_path)
    made.at(JULY, look)
    yield made
    made.store.close()


def look(unit):
    """What has become wrong, or right again."""
    gateway_health.watch_signal(unit)
    gateway_health.watch_outbox(unit)


def due(days, now):
    """When the gateway's own health is looked at next; None: not before something happens."""
    with days.store.read() as reader:
        return min((*signal_dues(reader, now), *outbox_dues(reader, now)), default=None)


def run(days, start, end):
    """Looks whenever it is due, as the daemon does; the wheel must turn."""
    now = start
    for _ in range(1000):
        days.at(now, look)
        after = due(days, now)
        if after is None:
            return
        assert after > now, "due again at once: it would never rest"
        now = after
        if now > end:
            return
    raise AssertionError("too often")


def test_a_weak_signal_is_told_when_it_lasts(days):
    """Ten minutes of it; a dip, and what flutters about the limit, are not told; good again once."""
    days.network(JULY, percent=10)
    run(days, JULY, JULY + 9 * M)
    days.network(JULY + 9 * M, percent=40)
    run(days, JULY + 9 * M, JULY + 40 * M)
    assert not days.events("signal-weak")
    days.network(JULY + 40 * M, percent=10)
    run(days, JULY + 40 * M, JULY + 60 * M)
    for number, percent in enumerate((18, 12, 20, 14)):
        days.network(JULY + (60 + number) * M, percent=percent)
        run(days, JULY + (60 + number) * M, JULY + (60 + number) * M + M / 2)
    days.network(JULY + 2 * H, percent=30)
    run(days, JULY + 2 * H, JULY + 3 * H)
    assert [(event.kind, event.at) for event in days.events("signal-weak", "signal-good")] == [
        ("signal-weak", JULY + 50 * M),
        ("signal-good", JULY + 2 * H),
    ]
    assert len(days.outbox()) == 2


@pytest.mark.parametrize(
    ("free", "total", "kinds"),
    [
        ((10 * GB, 199 * MB, 150 * MB, 205 * MB, 300 * MB, 400 * MB), 32 * GB, ["disk-low", "disk-back"]),
        ((200 * MB, 60 * MB, 40 * MB, 55 * MB), 512 * MB, ["disk-low"]),
        ((10 * GB,), 32 * GB, []),
    ],
)
def test_a_disk_nearly_full(days, free, total, kinds):
    """Under 200 MB, or a tenth of a small disk, once; room again well above it, once."""
    for number, room in enumerate(free):
        days.at(JULY + number * H, lambda unit, room=room: gateway_health.watch_disk(unit, room, total))
    assert [event.kind for event in days.events("disk-low", "disk-back")] == kinds
    assert len(days.outbox()) == len(kinds)


@pytest.mark.parametrize(
    ("memory", "room"),
    [
        ({"total": 10, "own": 8}, "2"),
        ({"total": 10, "own": 3, "stuck": 5}, "2"),
        ({"total": 10, "own": 7}, None),
        ({"total": 50, "stuck": 40}, "10"),
        ({"total": 50, "stuck": 39}, None),
        ({"total": 10, "stuck": 12}, "0"),
        ({"total": 2}, None),
        ({"total": None, "own": 40}, None),
    ],
)
def test_a_memory_that_fills_for_good_is_told_in_time(days, memory, room):
    """Two more texts, or a fifth of its slots; told once, and once that there is room again. A memory that is only small is not filled."""
    well = MemoryRoom(name="ME", total=100)
    for number, memories in enumerate(
        ((well, MemoryRoom(name="SM", **memory)), (well, MemoryRoom(name="SM", **memory)), (), (well,))
    ):
        days.at(JULY + number * H, lambda unit, memories=memories: watch_memories(unit, memories))
    seen = [(event.kind, event.detail.get("count"), event.at) for event in days.events("memory-full", "memory-free")]
    assert seen == ([("memory-full", room, JULY), ("memory-free", None, JULY + 3 * H)] if room else [])


def test_a_memory_that_cannot_be_listed_is_told_by_its_name(days):
    """Once, and once that it can be again."""
    for number, read in enumerate((True, False, False, True)):
        memories = (MemoryRoom(name="ME", total=100), MemoryRoom(name="SM", total=10, is_read=read))
        days.at(JULY + number * H, lambda unit, memories=memories: watch_memories(unit, memories))
    unread, again = days.events("memory-unread", "memory-read")
    assert (unread.kind, unread.detail["why"], unread.at) == ("memory-unread", "SM", JULY + H)
    assert (again.kind, again.at) == ("memory-read", JULY + 3 * H)


@pytest.mark.parametrize(("urgent", "after"), [(True, H), (False, 6 * H)])
def test_messages_that_cannot_leave_are_on_record(days, urgent, after):
    """An hour for what is urgent, six for the rest; that they leave again is told, with how long it was."""
    waiting = Message(contact="wren", number=WREN, text="x", at=JULY, urgent=urgent)
    put = days.at(JULY, lambda unit: unit.tx.put_message(waiting))
    run(days, JULY, JULY + after - M)
    assert not days.events("outbox-waits")
    run(days, JULY + after, JULY + after + 3 * H)
    assert [event.at for event in days.events("outbox-waits")] == [JULY + after]
    days.at(JULY + after + 3 * H, lambda unit: unit.tx.change_message(put.id, state="sent"))
    run(days, JULY + after + 3 * H, JULY + after + 4 * H)
    assert len(days.events("outbox-moves")) == 1
    assert [text for _, text in days.outbox()] == [
        "The gateway's messages leave again, 16:00. Some waited for 3 h and more."
    ] or not urgent


def test_what_waits_for_the_morning_is_not_stuck(days):
    """Quiet hours hold a message all night; only from their end on it should leave."""
    held = Message(contact="wren", number=WREN, text="x", at=JULY, state="held", not_before=JULY + 9 * H)
    days.at(JULY, lambda unit: unit.tx.put_message(held))
    run(days, JULY, JULY + 14 * H)
    assert not days.events("outbox-waits")
    run(days, JULY + 14 * H, JULY + 16 * H)
    assert days.events("outbox-waits")


def restart(days, now, at_work=None):
    """The daemon starts and, once the store was swept, says what there is to say; `at_work`: what memory still knows."""
    days.at(now, lambda unit: gateway_life.started(unit, at_work))
    days.at(now, gateway_life.tell_outage)


def test_a_short_stop_in_a_quiet_week_is_no_outage(days):
    """Nothing happened for a day; then the process ends, or is stopped in order: it was surely at work a moment ago."""
    restart(days, JULY + 24 * H, at_work=JULY + 24 * H - M)
    days.at(JULY + 48 * H, gateway_life.stopped)
    restart(days, JULY + 48 * H + 12 * M)
    assert not days.outbox()


def test_after_an_outage_it_says_from_when_until_when_and_what_came(days):
    """The last time it was at work, now, and how many texts waited; once, also if it starts again at once."""
    days.at(JULY + 30 * H, lambda unit: gateway_life.started(unit, JULY + 24 * H))
    days.comes(JULY + 30 * H, at=JULY + 27 * H)
    days.comes(JULY + 30 * H, "STATION WELL 2", at=JULY + 28 * H)
    days.at(JULY + 30 * H, gateway_life.tell_outage)
    restart(days, JULY + 30 * H + M, at_work=JULY + 30 * H)
    assert [text for _, text in days.outbox()] == [
        "The gateway was off from 12:00 until 18:00. Meanwhile came 2 texts."
    ]


@pytest.mark.parametrize("last", ["text", "message", "note"])
def test_after_a_cut_of_the_power_it_says_what_is_known_of_it(days, last):
    """Memory forgot: the newest thing on record is when it surely worked. What an import brought says nothing of that time."""
    days.comes(JULY - 5 * H, at=JULY - 5 * H)
    if last == "text":
        days.comes(JULY, at=JULY - H)
    elif last == "message":
        put = days.at(
            JULY - H, lambda unit: unit.tx.put_message(Message(contact="w", number=WREN, text="x", at=JULY - H))
        )
        days.at(JULY, lambda unit: unit.tx.change_message(put.id, state="sent", at=JULY))
    else:
        days.at(JULY, lambda unit: gateway_life.backed_up(unit, None))
    restart(days, JULY + 6 * H)
    (told,) = [text for _, text in days.outbox()]
    assert told.startswith(
        "The gateway lost its power, or hung, some time after 12:00. It has worked again since 18:00."
    )


def test_a_cut_of_the_power_soon_after_something_happened_is_told_to_nobody(days):
    """Whenever it came, it was short."""
    days.comes(JULY, at=JULY)
    restart(days, JULY + 20 * M)
    assert not days.outbox() and days.events("gateway-started")[0].detail["surely"] is False


def test_a_start_with_an_unset_clock_makes_no_outage_of_fifty_years(days):
    """What is on record, or in memory, from 1970 or from a day to come says nothing of when it was off."""
    early, late = datetime(1970, 1, 1, 0, 3, tzinfo=UTC), JULY + 400 * 24 * H
    days.at(early, gateway_life.reloaded)
    days.at(late, gateway_life.reloaded)
    restart(days, JULY + 20 * M, at_work=early)
    restart(days, JULY + 25 * M, at_work=late)
    assert not [text for _, text in days.outbox() if "power" in text or "was off" in text]


def test_the_sign_of_life_outlives_the_process_in_memory_alone(tmp_path):
    """The next one reads when the last was at work; somebody else's file, or none, says nothing."""
    clock = FakeClock(JULY)
    life = LifeSign(clock, "sqlite:///x", "Q", tmp_path)
    assert life.before is None
    clock.advance(5 * M)
    life.give()
    assert LifeSign(clock, "sqlite:///x", "Q", tmp_path).before == JULY + 5 * M
    assert LifeSign(clock, "sqlite:///x", "Creek Flat", tmp_path).before is None
    assert [file.stat().st_size for file in tmp_path.glob("*.at-work")] == [0]
    victim = tmp_path / "victim"
    victim.touch()
    (file,) = tmp_path.glob("*.at-work")
    file.unlink()
    file.symlink_to(victim)
    before = victim.stat().st_mtime
    life.give()
    assert victim.stat().st_mtime == before


def test_backups_that_fail_are_told_once_and_that_they_work_again_once(days):
    """Day after day."""
    for number, trouble in enumerate(("no medium", "no medium", None, None)):
        days.at(JULY + number * 24 * H, lambda unit, trouble=trouble: gateway_life.backed_up(unit, trouble))
    assert [event.kind for event in days.events("backup-failed", "backup-back")] == ["backup-failed", "backup-back"]
    assert len(days.outbox()) == 2


@pytest.mark.parametrize("trusted", [True, False])
def test_the_whole_wheel_rests(days, trusted):
    """With nothing to do nothing is due at once, and nothing more is written."""
    now = JULY if trusted else datetime(1970, 1, 1, 0, 3, tzinfo=UTC)
    for _ in range(3):
        days.at(now, lambda unit: do_what_is_due(unit, verdicts=True), trusted=trusted)
    with days.store.read() as reader:
        after = next_due(reader, days.site, now, verdicts=True)
    assert after is None or after > now


def condition_since(home, began):
    """Whether the modem has said how it is since then."""
    with home.built.store.read() as reader:
        condition = reader.state(ModemCondition)
    return condition is not None and condition.at >= began


def test_no_trouble_is_repeated_by_a_restart(tmp_path):
    """Real path: no network and a full disk at three starts are one event each; over is told once, at the fourth."""
    usage = namedtuple("usage", "total used free")
    real, full = shutil.disk_usage, True
    shutil.disk_usage = lambda folder: usage(32 * GB, 0, 50 * MB if full else 20 * GB)
    try:
        for start in range(4):
            with SimulatedModem(str(tmp_path / f"port{start}")) as modem:
                full = start < 3
                modem.network.registered = 2 if full else 1
                with at_home(tmp_path, modem) as home:
                    home.came("gateway-started", start + 1)
                    began = home.events("gateway-started")[-1].at
                    home.until(lambda home=home, began=began: condition_since(home, began), "the modem's condition")
                    home.came("disk-low")
                    home.came("signal-lost")
                    if not full:
                        home.came("disk-back")
                        home.came("signal-back")
                    kinds = [event.kind for event in home.events("signal-lost", "signal-back", "disk-low", "disk-back")]
                    assert len(kinds) == (2 if full else 4)
    finally:
        shutil.disk_usage = real


def test_doctor_shows_it_all_with_what_to_do(tmp_path, capsys):
    """Beside a daemon at work: each thing, and for what is wrong what helps; the modem is left alone."""
    tables = "[balance]\nussd = \"*100#\"\npattern = '(?P<amount>[0-9.]+) AUD'\nlow = 20\n"
    with SimulatedModem(str(tmp_path / "port")) as modem:
        modem.network.signal = 3
        with at_home(tmp_path, modem, rest=tables) as home:
            home.came("credit-low")
            home.until(lambda: home.events("credit-low") and len(modem.network.outgoing) == 1, "told")
            home.modem.network.deliver(RIDGE, "STATION WELL SUPPLY 11.5 V")
            home.came("battery-low")
            before = len(modem.commands)
            assert main(["doctor", "--config", str(tmp_path / "gateway.toml")]) == 1
    output = capsys.readouterr().out
    assert max(len(line) for line in output.splitlines()) <= 80
    rows = {line.split("  ")[0]: line for line in output.splitlines()}
    for what, right in (("signal", "WRONG"), ("credit", "WRONG"), ("SIM", "right"), ("network", "right"), ("outbox", "right"),
                        ("clock", "right"), ("disk", "right"), ("backup", "unknown"), ("daemon", "right"),
                            ("battery of Ridge box", "WRONG")):  # fmt: skip
        assert right in rows[what], (what, output)
    assert "top it up" in output and "antenna" in output and before
