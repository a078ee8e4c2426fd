"""The real scheduler: ticks when it is asked to, and is left asleep where a tick comes in time anyway."""

import threading
from pathlib import Path

import pytest

from gateway.schedule import Ticker

WITHIN_S = 30.0


@pytest.fixture
def ticking():
    """A ticker at work, what it puts, and the thread that it begins."""
    came, before = threading.Semaphore(0), set(threading.enumerate())
    ticker = Ticker(came.release)
    ticker.start()
    yield ticker, came, before
    ticker.stop()


def switches(thread):
    """How often it gave the processor up, which it does once for each time that it was woken."""
    said = Path(f"/proc/self/task/{thread.native_id}/status").read_text()
    return int(said.partition("\nvoluntary_ctxt_switches:")[2].split()[0])


def test_it_ticks_as_soon_as_it_is_asked_to(ticking):
    """Nearer than the minute that it takes by itself, over and over, also where it had just been put off; one thread does it all."""
    ticker, came, before = ticking
    for _ in range(3):
        ticker.wake_in(60)
        ticker.wake_in(0)
        assert came.acquire(timeout=WITHIN_S)
    assert len(set(threading.enumerate()) - before) == 1


def test_a_tick_that_comes_in_time_is_not_moved(ticking):
    """Asked again and again for the minute that it takes anyway, the scheduler sleeps on."""
    ticker, came, before = ticking
    ticker.wake_in(0)
    assert came.acquire(timeout=WITHIN_S)
    (thread,) = set(threading.enumerate()) - before
    ticker.wake_in(60)
    count = switches(thread)
    for _ in range(100):
        ticker.wake_in(60)
        threading.Event().wait(0.001)
    assert switches(thread) - count <= 5
