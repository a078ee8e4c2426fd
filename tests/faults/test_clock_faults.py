"""Rows 30 to 33, 45, 46, 69 and 70 of the fault table: clocks that lie, summer time, and deadlines met to the second."""

import itertools
import random
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.inbox import CLOCK_FLOOR
from gateway.site import compile_site
from gateway.status.snapshot import take_snapshot
from tests.fakes.fake_clock import START, FakeClock
from tests.faults.board import UNLIMITED, Board, Fresh, board
from tests.household import RIDGE, WREN

HOUR = timedelta(hours=1)
WATCHED = {"controller": 'silence_after = "26h"\nask = { before_silence = "0s" }'}
ZONES = ("Australia/Sydney", "Europe/Kyiv", "America/St_Johns", "Africa/Casablanca", "Pacific/Chatham")


def test_row_30_board_wakes_in_1970(tmp_path, seed, trials):
    """No clock battery: no silence is believed, times come from the network, untrusted until the clock is set; said once."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(200)):
        home = fresh.board(**WATCHED)
        home.start()
        home.hears(RIDGE, "STATION WELL 1")
        real = home.clock.now()
        home.cut()
        home.clock.reboot(datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=rng.randrange(1, 300)))
        home.modem.now = lambda real=real: real + timedelta(minutes=5)
        home.start()
        assert len(home.events("clock-untrusted")) == 1
        home.hears(RIDGE, "LINE 1 MADE 0717")
        assert home.events("low")[0].at == real + timedelta(minutes=5), "the network's time is the better one"
        home.pass_time(timedelta(hours=rng.randrange(1, 40)), at_least_s=1800)
        assert not home.events("silent")
        home.clock.set(real + timedelta(hours=2))
        home.pass_time(timedelta(minutes=3))
        assert len(home.events("clock-set")) == 1 and not home.events("silent")
        home.cut()


@pytest.mark.parametrize("step", [-HOUR, timedelta(days=3652), -timedelta(days=3652)], ids=["-1h", "+10y", "-10y"])
def test_row_31_stepped_clock(tmp_path, step, seed, trials):
    """Ticks go on within a minute; at most one flag, no burst; and silence is still noticed afterwards."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(max(1, trials(200) // 3)):
        home = fresh.board(**WATCHED, rest='[digest]\nday = "wednesday"\ncontacts = ["wren"]\n')
        home.start()
        home.modem.deliver(RIDGE, "STATION WELL 1")
        home.pass_time(timedelta(minutes=rng.randrange(1, 600)), at_least_s=600)
        home.clock.step(step)
        assert home.daemon.wait_s <= 60.0
        home.pass_time(timedelta(hours=1), at_least_s=60)
        assert len(home.events("silent")) <= 1 and len(home.arrived()) <= 3
        home.hears(RIDGE, "STATION WELL 2")
        before = len(home.events("silent"))
        home.pass_time(timedelta(hours=27), at_least_s=600)
        believed = home.clock.now() > CLOCK_FLOOR
        assert len(home.events("silent")) == before + believed, "a silence after the step is a silence"
        assert len(home.events("clock-untrusted")) == (not believed)
        home.cut()


def test_row_31_the_loop_waits_a_minute_at_most(tmp_path, seed, trials):
    """Whatever the wall clock shows, what is due next is looked at within a minute: no stall, and no catching up at once."""
    rng = random.Random(seed)
    with board(tmp_path, **WATCHED) as home:
        home.hears(RIDGE, "STATION WELL 1")
        for _ in range(trials(1000)):
            home.clock.set(START + timedelta(seconds=rng.uniform(-4e8, 4e8)))
            home.settle()
            assert 0.1 <= home.daemon.wait_s <= 60.0


def test_row_31_the_loop_wakes_by_itself(tmp_path):
    """No value comes at all: the loop goes round once its wait is over."""
    with board(tmp_path, **WATCHED) as home:
        home.hears(RIDGE, "STATION WELL 1")
        home.clock.advance(timedelta(hours=27))
        home.daemon.step(0.01)
        assert len(home.events("silent")) == 1


@pytest.mark.parametrize("zone", ZONES)
def test_row_32_each_local_deadline_once(tmp_path, zone):
    """Ten years of weekly messages at 02:30 local, an hour that summer time skips or doubles: one a week, on its day."""
    config = {
        "rest": '[digest]\nday = "sunday"\ntime = "02:30"\ncontacts = ["wren"]\n',
        "line": "delivery_reports = false",
    }
    home = Board(tmp_path, FakeClock(datetime(2026, 1, 1, tzinfo=UTC)), **config)
    text = home.config.read_text().replace("Australia/Sydney", zone)
    home.config.write_text(text)
    from gateway.settings.load import load

    home.settings = load(str(home.config)).settings
    home.start()
    local = ZoneInfo(zone)
    years = 10
    for sunday in itertools.takewhile(lambda day: day.year < 2026 + years, _sundays()):
        if not _changes(sunday, local):
            continue
        _one_message_that_day(home, sunday, local)
    home.cut()


def _sundays():
    first = datetime(2026, 1, 4).date()  # noqa: DTZ001  # a calendar day, no moment
    return (first + timedelta(days=7 * week) for week in itertools.count())


def _changes(day, local) -> bool:
    noon = datetime.combine(day, time(12), tzinfo=local)
    before = datetime.combine(day - timedelta(days=1), time(12), tzinfo=local)
    return noon.utcoffset() != before.utcoffset()


def _one_message_that_day(home: Board, day, local) -> None:
    home.clock.set(datetime.combine(day, time(0, 5), tzinfo=local).astimezone(UTC))
    home.settle()
    home.modem.arrived.clear()
    home.pass_time(timedelta(hours=5), at_least_s=1200)
    assert len(home.modem.arrived) == 1, day


def test_row_33_absurd_network_stamp(tmp_path, seed, trials):
    """Years off, either way: the text is kept and read at our own time, and nothing else is moved by it."""
    rng = random.Random(seed)
    with board(tmp_path, **WATCHED, rest=UNLIMITED) as home:
        for number in range(trials(1000)):
            home.clock.advance(timedelta(minutes=1))
            years = rng.choice([-1, 1]) * rng.uniform(2, 60)
            stamp = (home.clock.now() + timedelta(days=365 * years)).replace(microsecond=0)
            home.hears(RIDGE, f"STATION WELL {number}", stamp=stamp)
            assert home.texts("in")[-1].at == home.clock.now()
        assert not home.events("silent") and not home.arrived()
        home.pass_time(timedelta(hours=27), at_least_s=600)
        assert len(home.events("silent")) == 1, "no stamp of the future hides a silence"


@pytest.mark.parametrize("settles", ["0s", "3m"])
def test_row_69_what_is_remembered_ahead_of_now(tmp_path, seed, trials, settles):
    """Hours to years ahead, then right: the next switch is told, the board shows it, and the next silence is told in its time."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(200)):
        watched = WATCHED["controller"].replace("26h", "2h")
        home = fresh.board(controller=watched, float=f'settle = "{settles}"', rest=UNLIMITED)
        home.start()
        home.hears(RIDGE, "LINE 1 BROKE 0001")
        ahead = timedelta(hours=rng.choice([rng.uniform(1, 24), rng.uniform(24, 1000), 87_600]))
        home.clock.step(ahead)
        for number in range(rng.randrange(1, 4)):
            home.hears(RIDGE, f"LINE 1 BROKE {number:04}")
            home.hears(RIDGE, f"LINE 1 MADE {number:04}")
            home.pass_time(timedelta(minutes=rng.choice([1, 5])), at_least_s=60)
            home.hears(RIDGE, f"LINE 1 BROKE {number + 10:04}")
            home.pass_time(timedelta(minutes=5), at_least_s=60)
        home.clock.step(-ahead)
        home.modem.arrived.clear()
        home.hears(RIDGE, "LINE 1 MADE 2000")
        home.pass_time(timedelta(minutes=4), at_least_s=30)
        assert any("House tank LOW" in text for text in home.arrived(WREN))
        with home.store.read() as reader:
            assert take_snapshot(reader, compile_site(home.settings), home.clock.now()).tanks[1].state == "low"
        home.pass_time(timedelta(hours=4), at_least_s=600)
        assert any("SILENT" in text for text in home.arrived(WREN))
        home.cut()


def test_row_69_an_end_of_settling_ahead_of_now(tmp_path):
    """Low, and the clock is set back ten years before it has settled: it is told all the same, once it has."""
    with board(tmp_path, float='settle = "3m"') as home:
        home.clock.step(timedelta(days=3652))
        home.hears(RIDGE, "LINE 1 BROKE 0001")
        home.hears(RIDGE, "LINE 1 MADE 0002")
        home.clock.step(-timedelta(days=3652))
        home.pass_time(timedelta(minutes=5), at_least_s=20)
        assert any("House tank LOW" in text for text in home.arrived(WREN))


def test_row_70_one_absurd_stamp_under_an_untrusted_clock(tmp_path, seed, trials):
    """A board in 1970 believes a stamp years ahead until the next text: that one moves the float, and is told."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(200)):
        home = fresh.board()
        real = home.clock.now()
        home.clock.reboot(datetime(1970, 1, 1, tzinfo=UTC))
        home.start()
        home.hears(RIDGE, "LINE 1 BROKE 0001", stamp=real.replace(microsecond=0))
        absurd = (real + timedelta(days=rng.uniform(3, 9000))).replace(microsecond=0)
        home.hears(RIDGE, "LINE 1 MADE 0002", stamp=absurd)
        home.hears(RIDGE, "LINE 1 BROKE 0003", stamp=real.replace(microsecond=0) + timedelta(minutes=2))
        assert [event.kind for event in home.events("low", "low-over")] == ["low-over", "low-over", "low"], (
            "by their times"
        )
        if rng.random() < 0.5:
            home.clock.set(real + timedelta(minutes=3))
        home.modem.arrived.clear()
        home.hears(RIDGE, "LINE 1 MADE 0004", stamp=real.replace(microsecond=0) + timedelta(minutes=3))
        assert any("House tank LOW" in text for text in home.arrived(WREN))
        home.cut()


def test_row_45_heard_at_the_very_deadline(tmp_path, seed, trials):
    """The text comes in the very second in which silence is due: one outcome, and what is said last is true."""
    rng = random.Random(seed)
    controller = 'silence_after = "1h"\nask = { before_silence = "0s" }'
    with board(
        tmp_path, controller=controller, rest="[limits]\nburst = 100000\ntexts_per_day = 100000\na_day_each = 100000\n"
    ) as home:
        home.hears(RIDGE, "STATION WELL first")
        for number in range(trials(1000)):
            before = len(home.events("silent")), len(home.events("heard-again"))
            home.clock.advance(HOUR - timedelta(milliseconds=rng.choice([0, 0, 1, 900])))
            if rng.random() < 0.5:
                home.settle()
            home.hears(RIDGE, f"STATION WELL {number}")
            after = len(home.events("silent")), len(home.events("heard-again"))
            assert after[0] - before[0] == after[1] - before[1] <= 1, "silent and heard again, or neither"


def test_row_46_down_over_a_deadline(tmp_path, seed, trials):
    """Off while a silence fell due: what lies on the SIM is read first, then one verdict, and no more after restarts."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(500)):
        home = fresh.board(**WATCHED)
        home.start()
        home.hears(RIDGE, "STATION WELL 1")
        home.cut()
        heard = rng.random() < 0.5
        home.clock.advance(timedelta(hours=rng.uniform(27, 60)))
        if heard:
            stamp = home.clock.now().replace(microsecond=0) - timedelta(hours=rng.uniform(0, 25))
            home.modem.deliver(RIDGE, "STATION WELL 2", stamp=stamp.replace(microsecond=0))
        for _ in range(rng.randrange(1, 3)):
            home.modem.hold_news = True
            home.start()
            home.pass_time(timedelta(seconds=5))
            assert len(home.events("silent")) == len(home.events("heard-again")) or not heard, "the store was not swept"
            home.modem.hold_news = False
            home.modem.release()
            home.settle()
            home.pass_time(timedelta(minutes=2))
            home.cut()
        home.start()
        assert len(home.events("silent")) == (0 if heard else 1)
        home.cut()
