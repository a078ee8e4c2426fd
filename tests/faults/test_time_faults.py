"""Rows 61, 63 and 66 to 68 of the fault table: stamps that are off, late texts, mixed parts, and a clock that the stamps contradict."""

import random
import re
from datetime import timedelta

import pytest

from gateway.simulator.pdus import deliver_pdus
from gateway.site import compile_site
from gateway.status.snapshot import take_snapshot
from tests.faults.board import UNLIMITED, Board, Fresh, board
from tests.household import RIDGE, WREN

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
QUIET = 'silence_after = "off"'
WATCHED = 'silence_after = "26h"\nask = { before_silence = "0s" }'


def stamp_of(home: Board, off: timedelta = timedelta(0)):
    """The network's stamp on a text that comes now, of a centre whose clock is so far off."""
    return (home.clock.now() + off).replace(microsecond=0)


@pytest.mark.parametrize("centre", ["any zone", "an hour behind now and then", "fourteen hours behind", "ahead"])
def test_row_61_a_stamp_that_is_hours_off(tmp_path, seed, trials, centre):
    """Every switch is an event, told, in the order in which it came; and a box that texts each hour is not silent."""
    rng = random.Random(seed)
    off = {
        "any zone": lambda: timedelta(minutes=15 * rng.randrange(-56, 57)),
        "an hour behind now and then": lambda: -HOUR * rng.randrange(2),
        "fourteen hours behind": lambda: -14 * HOUR,
        "ahead": lambda: timedelta(hours=rng.randrange(15)),
    }[centre]
    watched = 'silence_after = "16h"\nask = { before_silence = "0s" }'
    with board(tmp_path, rest=UNLIMITED, controller=watched) as home:
        count = trials(500) // 2 * 2
        for number in range(count):
            home.pass_time(timedelta(minutes=rng.uniform(1, 100)), at_least_s=1800)
            told = len(home.arrived(WREN))
            home.hears(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}", stamp=stamp_of(home, off()))
            said = " ".join(home.arrived(WREN)[told:])
            assert ("LOW" if number % 2 == 0 else "no longer low") in said
        kinds = [event.kind for event in sorted(home.events("low", "low-over"), key=lambda event: event.id)]
        assert kinds == ["low", "low-over"] * (count // 2)
        assert not home.events("silent")


def test_row_61_the_doubt_is_in_the_event_and_told(tmp_path):
    """An hour behind the text before it: it counts now, and who reads it learns what its stamp says."""
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        home.hears(RIDGE, "LINE 1 BROKE 0001", stamp=stamp_of(home))
        home.clock.advance(timedelta(minutes=10))
        home.hears(RIDGE, "LINE 1 MADE 0002", stamp=stamp_of(home, -HOUR))
        (low,) = home.events("low")
        assert low.at == home.clock.now() and low.detail["time"] == "runs-back"
        assert "may be old" in home.arrived(WREN)[-1]


def test_row_63_parts_with_one_reference(tmp_path, seed, trials):
    """Texts of a box that numbers all of them alike, mixed, a part lost here and there: words of two are never one text."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        for number in range(trials(2000)):
            stored = len(home.texts("in"))
            texts, parts, whole = [], [], []
            at = stamp_of(home, timedelta(minutes=-14))
            for which in range(rng.randrange(2, 4)):
                words = " ".join(f"{number}t{which}w{place}" for place in range(rng.randrange(20, 50)))
                at = (at + timedelta(minutes=rng.uniform(1.5, 4))).replace(microsecond=0)
                pdus = list(deliver_pdus(RIDGE, words, at, reference=7))
                lost = len(pdus) > 1 and rng.random() < 0.5 and pdus.pop(rng.randrange(len(pdus)))
                texts.append(words)
                whole += [] if lost else [words]
                parts += pdus
            rng.shuffle(parts)
            home.clock.advance(timedelta(minutes=12))
            for pdu in parts:
                home.modem.deliver_pdus([pdu])
                if rng.random() < 0.5:
                    home.settle()
            home.settle()
            home.pass_time(timedelta(minutes=11), at_least_s=60)
            came = [text.text for text in sorted(home.texts("in"), key=lambda text: text.id)][stored:]
            assert all(len(set(re.findall(r"t\d+(?=w)", text))) == 1 for text in came), came
            assert set(whole) <= set(came), "what came whole is whole"
            shown = " ".join(came)
            assert all(f"{number}t{which}w" in shown for which in range(len(texts)) if texts[which] in whole)
            assert not home.modem.slots


def test_row_63_a_reference_used_again_after_ten_minutes(tmp_path):
    """A part waits for one that is lost, and another text has its reference: each is shown by itself."""
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        first = deliver_pdus(RIDGE, "a " * 100, stamp_of(home), reference=7)
        home.modem.deliver_pdus(first[:1])
        home.settle()
        home.clock.advance(timedelta(minutes=9, seconds=55))
        second = deliver_pdus(RIDGE, "b " * 100, stamp_of(home), reference=7)
        home.modem.deliver_pdus(second[1:])
        home.settle()
        home.pass_time(timedelta(minutes=11), at_least_s=30)
        texts = [text.text for text in home.texts("in")]
        assert len(texts) == 2 and not any("a" in text and "b" in text for text in texts), texts


def test_row_63_nobody_can_say_whose_part_it_is(tmp_path):
    """Two beginnings and one end, all stamped alike: none is joined, all are shown."""
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        at = stamp_of(home)
        first, second = (deliver_pdus(RIDGE, f"{letter} " * 100, at, reference=7) for letter in "ab")
        home.modem.deliver_pdus([first[0], second[0], second[1]])
        home.settle()
        home.pass_time(timedelta(minutes=11), at_least_s=30)
        texts = [text.text for text in home.texts("in")]
        assert len(texts) == 3 and not any("a" in text and "b" in text for text in texts), texts


def test_row_66_very_late_texts(tmp_path, seed, trials):
    """Two days late, in any order with new ones: told as late, in history at their own time, and the state is that of the newest."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        for number in range(trials(250)):
            home.clock.advance(3 * DAY)
            newest = rng.choice(("MADE", "BROKE"))
            other = {"MADE": "BROKE", "BROKE": "MADE"}[newest]
            late = timedelta(hours=rng.uniform(30, 48))
            home.hears(RIDGE, f"LINE 1 {other} {number:04}a", stamp=stamp_of(home, -2.4 * DAY))
            home.hears(RIDGE, f"LINE 1 {newest} {number:04}b", stamp=stamp_of(home))
            home.clock.advance(timedelta(minutes=20))
            told = len(home.arrived(WREN))
            home.hears(RIDGE, f"LINE 1 {newest} {number:04}c", stamp=stamp_of(home, -late))
            home.hears(RIDGE, f"LINE 1 {other} {number:04}d", stamp=stamp_of(home, -late + HOUR))
            said = home.arrived(WREN)[told:]
            assert [text.count("came late") for text in said] == [1, 1], said
            assert f"{number:04}d" in said[1]
            with home.store.read() as reader:
                house = take_snapshot(reader, compile_site(home.settings), home.clock.now()).tank("house")
            assert house.state == ("low" if newest == "MADE" else "ok")
            (past,) = (event for event in home.events() if event.text and event.text.endswith(f"{number:04}d"))
            assert past.detail["time"] == "late" and past.at == stamp_of(home, -late + HOUR)
            assert len(home.texts("in")) == 4 * (number + 1)


def test_row_66_late_news_of_the_power_moves_nothing(tmp_path):
    """That the mains went the day before yesterday is told, and the box is not taken to be without power now."""
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        home.hears(RIDGE, "MAINS BACK", stamp=stamp_of(home))
        home.clock.advance(HOUR)
        home.hears(RIDGE, "MAINS GONE", stamp=stamp_of(home, -2 * DAY))
        assert "came late" in home.arrived(WREN)[-1]
        home.hears(RIDGE, "MAINS GONE", stamp=stamp_of(home))
        assert "without power since" in home.arrived(WREN)[-1], "the outage of now is told"


@pytest.mark.parametrize("how", ["set", "a day later"])
def test_row_67_a_board_wakes_with_the_time_of_its_last_shutdown(tmp_path, seed, trials, how):
    """Hours to weeks behind: texts have the network's times, nobody is silent, it is said once; and once it is set that is over."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(100)):
        home = fresh.board(controller=WATCHED, rest=UNLIMITED)
        home.start()
        home.hears(RIDGE, "LINE 1 BROKE 0001")
        home.pass_time(timedelta(minutes=rng.uniform(1, 300)), at_least_s=600)
        home.cut()
        behind = timedelta(hours=rng.choice([rng.uniform(2, 24), rng.uniform(24, 900)]))
        home.clock.reboot(home.clock.now() + timedelta(seconds=rng.uniform(1, 60)))
        home.modem.now = lambda home=home, behind=behind: stamp_of(home, behind)
        home.start()
        home.hears(RIDGE, "LINE 1 MADE 0002")
        assert home.events("low")[0].at == stamp_of(home, behind), "no false time"
        home.pass_time(timedelta(hours=rng.uniform(1, 20)), at_least_s=1800)
        home.hears(RIDGE, "LINE 1 BROKE 0003")
        assert home.events("low-over")[-1].at == stamp_of(home, behind)
        home.pass_time(timedelta(minutes=2), at_least_s=60)
        assert len(home.events("clock-untrusted")) == 1 and not home.events("silent")
        if how == "a day later":
            home.pass_time(timedelta(hours=20), at_least_s=1800)
        home.clock.step(behind)
        home.modem.now = lambda home=home: stamp_of(home)
        home.pass_time(timedelta(minutes=3), at_least_s=60)
        assert len(home.events("clock-set")) == 1 and not home.events("silent")
        home.pass_time(timedelta(hours=28), at_least_s=1800)
        assert len(home.events("silent")) == 1, "and a silence is a silence again"
        home.cut()


@pytest.mark.parametrize("sign", [-1, 1])
def test_row_68_a_clock_hours_off(tmp_path, seed, trials, sign):
    """The stamps agree with each other and not with our clock: that is said, they are believed, and a silence is as long as it is."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(100)):
        home = fresh.board(controller=WATCHED, rest=UNLIMITED)
        off = sign * timedelta(seconds=rng.randrange(3600, 86_400))
        home.modem.now = lambda home=home, off=off: stamp_of(home, off)
        home.start()
        for number in range(rng.randrange(3, 8)):
            home.pass_time(timedelta(minutes=rng.uniform(5, 600)), at_least_s=1800)
            home.hears(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}")
        assert all(event.at == event.heard_at.replace(microsecond=0) + off for event in home.events("low", "low-over"))
        home.pass_time(timedelta(minutes=2), at_least_s=60)
        assert len(home.events("clock-untrusted")) == 1
        assert any("off the network's time" in text for text in home.arrived(WREN))
        home.pass_time(timedelta(hours=25, minutes=50), at_least_s=600)
        assert not home.events("silent")
        home.pass_time(timedelta(minutes=20), at_least_s=60)
        assert len(home.events("silent")) == 1
        assert home.events("silent")[0].detail["since"] == home.events("low", "low-over")[-1].at.isoformat()
        home.cut()


def test_row_68_a_clock_that_a_stamp_confirmed_is_not_moved(tmp_path):
    """Others agree with our clock: then the centre of the one that does not is wrong, and its texts have the time at which they came."""
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        home.hears(WREN, "TANKS", stamp=stamp_of(home))
        for number in range(6):
            home.pass_time(timedelta(minutes=30), at_least_s=600)
            home.hears(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}", stamp=stamp_of(home, -3 * HOUR))
        assert not home.events("clock-untrusted")
        last = home.events("low", "low-over")[-1]
        assert last.at == home.clock.now() and last.detail["time"] == "shifted"


def test_row_68_a_clock_that_follows_a_time_server_is_believed(tmp_path):
    """The system knows better than any stamp."""
    with board(tmp_path, rest=UNLIMITED, controller=QUIET) as home:
        home.clock.follows_a_server = True
        for number in range(4):
            home.pass_time(timedelta(minutes=30), at_least_s=600)
            home.hears(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}", stamp=stamp_of(home, 2 * HOUR))
            assert home.events("low", "low-over")[-1].at == home.clock.now()
        assert not home.events("clock-untrusted")


LATE = "came late"


def test_row_71_an_ok_from_before_the_alarm_takes_nothing(tmp_path, seed, trials):
    """Written a minute to three days before: nobody is said to have it, its writer learns that, and the next OK takes it."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(167)):
        home = fresh.board(rest=UNLIMITED, controller=QUIET)
        home.start()
        home.hears(RIDGE, "LINE 1 MADE 0001")
        ago = timedelta(seconds=rng.uniform(60, 3 * 86_400))
        home.clock.advance(timedelta(seconds=rng.uniform(0, 600)))
        home.hears(WREN, "OK", stamp=(home.events("low")[0].heard_at - ago).replace(microsecond=0))
        assert not home.events("taken") and LATE in home.arrived(WREN)[-1]
        home.clock.advance(timedelta(minutes=1))
        home.hears(WREN, "OK")
        assert len(home.events("taken")) == 1 and "You have it" in home.arrived(WREN)[-1]
        home.cut()


def test_row_71_work_counts_from_its_own_time(tmp_path, seed, trials):
    """What would be over is over, and said; what is not ends when it was to end."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(167)):
        home = fresh.board(rest=UNLIMITED, controller=QUIET)
        home.start()
        ago = timedelta(seconds=rng.randrange(60, 3 * 86_400))
        home.hears(WREN, "WORK house 4h", stamp=stamp_of(home, -ago))
        if ago >= 4 * HOUR:
            assert not home.events("paused") and LATE in home.arrived(WREN)[-1]
        else:
            (paused,) = home.events("paused")
            assert paused.detail["until"] == (stamp_of(home, -ago) + 4 * HOUR).isoformat()
        home.cut()


def test_row_71_over_from_before_the_alarm_ends_nothing(tmp_path, seed, trials):
    """Written before the tank went low, it is not about that."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(167)):
        home = fresh.board(rest=UNLIMITED, controller=QUIET)
        home.start()
        home.hears(RIDGE, "LINE 1 MADE 0001")
        ago = timedelta(seconds=rng.uniform(60, 3 * 86_400))
        home.hears(WREN, "OVER house", stamp=stamp_of(home, -ago))
        assert not home.events("low-over-said") and LATE in home.arrived(WREN)[-1]
        home.clock.advance(timedelta(minutes=1))
        home.hears(WREN, "OVER house")
        assert len(home.events("low-over-said")) == 1
        home.cut()


def test_row_86_a_listing_in_the_order_of_slots(tmp_path, seed, trials):
    """A new text takes a free slot before the older ones: those of one listing are read in the order of their stamps, whatever the slots."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(200)):
        home = fresh.board(rest=UNLIMITED, controller=QUIET)
        count = rng.randrange(2, 12)
        at = stamp_of(home, -HOUR)
        slots = rng.sample(range(1, 25), count)
        for number, slot in enumerate(slots):
            stamp = at + timedelta(seconds=rng.randrange(1, 40) + 60 * number)
            (pdu,) = deliver_pdus(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}", stamp)
            home.modem.slots["SM", slot] = pdu
        home.start()
        assert [text.text[-4:] for text in home.texts("in")] == [f"{number:04}" for number in range(count)]
        kinds = [event.kind for event in sorted(home.events("low", "low-over"), key=lambda event: event.id)]
        assert kinds == (["low", "low-over"] * count)[:count]
        home.cut()
