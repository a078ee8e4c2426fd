"""A household lived through on a board whose clock is wrong: no text is lost, each is there once, and what is due goes on being done."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from gateway.rehearsal.clock_faults import EPOCH, ClockFault, planned_faults
from gateway.simulator.virtual_clock import VirtualClock
from tests.rehearsal.households import HOUSEHOLDS
from tests.rehearsal.test_account import Life, at

DAYS = 40
HOME = HOUSEHOLDS["one tank, one float"]
START, HOUR = datetime(2026, 6, 1, tzinfo=UTC), timedelta(hours=1)
A_LONG_SLEEP = timedelta(hours=10)
ALL = "steps,starts-1970,wakes-late"


@pytest.fixture(scope="module")
def right(tmp_path_factory):
    """The same days by a clock that is right."""
    return Life(tmp_path_factory.mktemp("right"), HOME, days=DAYS, stories="pump-stops")


@pytest.fixture(
    scope="module",
    params=[*(pytest.param(fault, marks=pytest.mark.soak) for fault in ("steps", "starts-1970", "wakes-late")), ALL],
)
def wrong(request, tmp_path_factory):
    """The days by a clock that is not."""
    folder = tmp_path_factory.mktemp("wrong")
    return request.param, Life(folder, HOME, "--clock", request.param, days=DAYS, stories="pump-stops")


def heard(life):
    """Each text of the box, by the network's stamp where that could be believed, and what it was."""
    return Counter(text["text"] for text in life.texts if text["way"] == "in" and text["contact"] is None)


def test_every_text_is_there_once(right, wrong):
    """What people did follows from when they were told; the box's signs of life are the same."""
    calm = [text for text in heard(right) if text.startswith("CALM")]
    _, life = wrong
    assert {text: heard(life)[text] for text in calm} == {text: heard(right)[text] for text in calm}


def test_a_board_that_starts_in_1970_does(wrong):
    """By its own clock: before anything told it better."""
    clock, life = wrong
    started = [at(event["at"]).year for event in life.events if event["kind"] == "gateway-started"]
    assert (1970 in started) is ("starts-1970" in clock)


def test_what_befalls_a_clock():
    """Set wrong, set right, asleep: by so much, as true time goes on."""
    clock = VirtualClock(START)
    ClockFault(at=START, does="step", by=5 * HOUR).befalls(clock)
    assert (clock.now(), clock.true_now()) == (START + 5 * HOUR, START)
    ClockFault(at=START, does="right").befalls(clock)
    assert clock.now() == clock.true_now() == START
    ClockFault(at=START, does="suspend", by=3 * HOUR).befalls(clock)
    assert clock.true_now() == START + 3 * HOUR


def test_what_is_planned():
    """A board without a clock battery begins at the epoch and is told better two days later; steps come by pairs, in order."""
    begun = planned_faults(("starts-1970",), START, 40, 1)
    assert [(fault.at - START, fault.does) for fault in begun] == [(0 * HOUR, "step"), (48 * HOUR, "right")]
    assert START + begun[0].by == EPOCH
    stepped = planned_faults(("steps",), START, 40, 1)
    assert [fault.does for fault in stepped] == ["step", "right"] * 4
    assert all(earlier.at < later.at <= START + timedelta(days=45) for earlier, later in pairwise(stepped))
    slept = planned_faults(("wakes-late",), START, 40, 1)
    assert [fault.does for fault in slept] == ["suspend"] * 10 and all(fault.by < A_LONG_SLEEP for fault in slept)


def test_each_low_tank_is_told(wrong):
    """However the clock stands, a message about it leaves."""
    _, life = wrong
    low = [event["id"] for event in life.events if event["kind"] == "low"]
    told = {text["event"] for text in life.left}
    assert low and set(low) <= told


def test_a_silence_is_told_at_its_time(right, wrong):
    """By a clock that began in 1970 or a board that slept none is told that was none. A clock put ahead by a year makes any box silent, and
    that is told (towards noise); but none that was one is missed."""
    clock, life = wrong
    told, really = ([at(event["at"]) for event in lived.events if event["kind"] == "silent"] for lived in (life, right))
    missed = [silent for silent in really if not any(abs(silent - known) < A_LONG_SLEEP for known in told)]
    assert really and not missed
    assert "steps" in clock or len(told) == len(really)


def test_the_account_counts_all_the_same(wrong):
    """And is the store's."""
    _, life = wrong
    assert life.account["texts_in"] == sum(text["way"] == "in" for text in life.texts)
    assert life.account["events"] == Counter(event["kind"] for event in life.events)
