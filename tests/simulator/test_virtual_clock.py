"""The virtual clock: it stands while anybody works, goes where the next wants to be woken, and never leaves a wait unended."""

import os
import queue
import threading
from datetime import UTC, datetime, timedelta

import pytest

from gateway.simulator.virtual_clock import VirtualClock

START = datetime(2027, 1, 1, tzinfo=UTC)


@pytest.fixture
def waiter():
    """A clock with one thread that waits on a queue for as long as it is told, and says when it woke and with what."""
    clock, values, woke, waits = (
        VirtualClock(START, threads=1),
        queue.SimpleQueue(),
        queue.SimpleQueue(),
        queue.SimpleQueue(),
    )

    def work():
        while (seconds := waits.get()) is not None:
            woke.put((clock.wait(values, seconds), clock.now()))

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    yield clock, values, woke, waits
    waits.put(None)
    values.put(None)  # a wait that nothing else ended
    thread.join(120)


def test_time_goes_to_the_next_who_waits_and_no_further(waiter):
    """A wait of an hour ends after just an hour, in no time."""
    clock, _, woke, waits = waiter
    waits.put(3600.0)
    clock.settle()
    assert clock.next_due() == START + timedelta(hours=1)
    clock.advance(START + timedelta(minutes=59))
    clock.settle()
    assert woke.empty()
    clock.advance(clock.next_due())
    assert woke.get(timeout=120) == (None, START + timedelta(hours=1))


@pytest.mark.parametrize("seconds", [0.1, 1 / 3, 1e-7, 86399.9999999, 0.1 + 0.2])
def test_no_wait_ends_a_rounding_error_later_than_time_can_go(waiter, seconds):
    """Seen: a wait that was due a tenth of a microsecond ahead kept the days from going on for ever."""
    clock, _, woke, waits = waiter
    for _ in range(20):
        waits.put(seconds)
        clock.settle()
        clock.advance(clock.next_due())
        assert woke.get(timeout=120)[0] is None


def test_a_value_ends_a_wait_while_time_stands(waiter):
    """What is put on the queue is taken at once, and the clock is where it was."""
    clock, values, woke, waits = waiter
    waits.put(3600.0)
    clock.settle()
    values.put("text")
    assert woke.get(timeout=120) == ("text", START)


def test_nobody_is_at_rest_while_octets_lie_unread():
    """A thread that waits on a descriptor which can be read has work to do; once it has read, it rests."""
    clock, (reading, writing), read = VirtualClock(START, threads=1), os.pipe(), queue.SimpleQueue()

    def work():
        while clock.select([reading], 60.0) and (octets := os.read(reading, 10)) != b"end":
            read.put((octets, clock.now()))

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    clock.settle()
    os.write(writing, b"AT")
    clock.settle()
    assert read.get_nowait() == (b"AT", START)
    os.write(writing, b"end")
    thread.join(120)
    assert not thread.is_alive()


def test_a_set_clock_moves_the_wall_alone():
    """As on a board whose clock is set: what waits by monotonic time does not notice."""
    clock = VirtualClock(START)
    clock.step(timedelta(days=365))
    assert clock.now() == START + timedelta(days=365) and clock.monotonic() == 0.0


def test_a_pause_ends_with_its_event():
    """The modem's thread stops at once, whatever it waits for."""
    clock, ended = VirtualClock(START, threads=1), threading.Event()
    thread = threading.Thread(target=lambda: clock.pause(ended, 3600.0), daemon=True)
    thread.start()
    clock.settle()
    ended.set()
    thread.join(120)
    assert not thread.is_alive() and clock.now() == START


def test_a_board_that_sleeps_wakes_late(waiter):
    """Time goes by for everybody outside, its own monotonic time stands; whoever waits looks round within a minute of waking."""
    clock, _, woke, waits = waiter
    waits.put(3600.0)
    clock.settle()
    clock.suspend(timedelta(hours=5))
    assert clock.true_now() == clock.now() == START + timedelta(hours=5) and clock.monotonic() == 0.0
    assert woke.empty() and clock.next_due() == START + timedelta(hours=5, minutes=1)
    clock.advance(clock.next_due())
    assert woke.get(timeout=120) == (None, START + timedelta(hours=5, minutes=1))


def test_a_clock_set_wrongly_moves_nothing_outside(waiter):
    """Who drives goes by true time; the board believes its own until it is set right."""
    clock, _, woke, waits = waiter
    clock.step(timedelta(days=-2))
    waits.put(30.0)
    clock.settle()
    clock.advance(clock.next_due())
    assert woke.get(timeout=120) == (None, START + timedelta(seconds=30, days=-2))
    clock.set_right()
    assert clock.now() == clock.true_now() == START + timedelta(seconds=30)


def test_time_goes_from_one_happening_to_the_next(waiter):
    """What happens outside comes before a later wake, each at its own time, and everybody is at rest before the next."""
    clock, values, woke, waits = waiter
    happenings = [(START + timedelta(minutes=minutes), lambda: values.put("text")) for minutes in (20, 50)]
    waits.put(3600.0)

    def next_happening(until):
        if not happenings or happenings[0][0] > until:
            return None
        waits.put(3600.0)
        return happenings.pop(0)

    clock.go_on_until(START + timedelta(minutes=55), next_happening)
    assert [woke.get(timeout=120) for _ in range(2)] == [
        ("text", START + timedelta(minutes=20)),
        ("text", START + timedelta(minutes=50)),
    ]
    assert clock.now() == START + timedelta(minutes=55)
