"""Where nothing is known of a tank, what ends says `unknown`, never that all is well (fault 72); nor is a cause told from such a tank."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.floats import end_chatter
from gateway.handlers.pauses import end_pauses, pause_tank
from tests.handlers.days import Days

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def told(days):
    """The messages that wait to leave."""
    with days.store.read() as reader:
        return [message.text for message in reader.outbox()]


def last_detail(days, kind):
    """What the newest event of the kind says of the state."""
    with days.store.read() as reader:
        return reader.last_event((kind,)).detail["state"]


@pytest.mark.parametrize(
    ("texts", "state"),
    [
        ((), "unknown"),
        (("STATION WELL 1",), "unknown"),
        (("LINE 1 MADE 1", "LINE 1 BROKE 2"), "ok"),
        (("LINE 1 MADE 1",), "low"),
    ],
)
def test_the_end_of_work_says_what_is_known(tmp_path, texts, state):
    """A tank whose float never said anything is unknown at the end of work on it."""
    days = Days(tmp_path)
    for minute, text in enumerate(texts):
        days.comes(NOW + timedelta(minutes=minute), text)
    tank = days.site.tanks["house"]
    days.at(NOW + HOUR, lambda unit: pause_tank(unit, tank, HOUR, by=None))
    days.at(NOW + 2 * HOUR, end_pauses)
    assert last_detail(days, "pause-over") == state
    assert any(f"It is {state} now" in text for text in told(days)) or state == "low"


@pytest.mark.parametrize(("silent", "state"), [(False, "ok"), (True, "unknown")])
def test_the_end_of_chatter_says_what_is_known(tmp_path, silent, state):
    """A float that was last heard idle is ok once it is quiet, unless its controller has fallen silent meanwhile."""
    days = Days(tmp_path)
    for second in range(0, 60, 6):
        days.comes(NOW + timedelta(seconds=second), f"LINE 1 {'MADE' if second % 12 == 0 else 'BROKE'} {second}")
    end = NOW + (timedelta(days=3) if silent else 8 * HOUR)
    days.at(end, end_chatter)
    assert last_detail(days, "float-quiet") == state
