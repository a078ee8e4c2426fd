"""The box's own clock: read in its texts, compared with the network's stamp, told in the week's report once it is far off."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.errands import drift, filled_text
from gateway.facts import Text
from gateway.facts.states.errands_and_tests import BoxClock
from gateway.handlers.text import read_text
from gateway.status.summary import week_list
from tests.errands.field_days import NOON, FieldDays
from tests.household import RIDGE

SYDNEY = ZoneInfo("Australia/Sydney")
MIN = timedelta(minutes=1)


@pytest.mark.parametrize(
    ("clock", "stamp", "ahead"),
    [
        (time(12, 0), NOON, 0 * MIN),
        (time(12, 0), NOON + timedelta(seconds=50), 0 * MIN),
        (time(12, 7), NOON, 7 * MIN),
        (time(11, 0), NOON, -60 * MIN),
        (time(23, 58), datetime(2026, 7, 6, 14, 3, tzinfo=UTC), -5 * MIN),
        (time(0, 3), datetime(2026, 7, 6, 13, 58, tzinfo=UTC), 5 * MIN),
        (time(12, 0, 10), NOON, timedelta(seconds=10)),
    ],
)
def test_how_far_it_is_off(clock, stamp, ahead):
    """By the local time of day, over midnight too; a time without seconds is right within its minute."""
    assert drift(clock, stamp, SYDNEY) == ahead


def test_what_is_filled_in():
    """The local time, and our number; other braces stand."""
    assert filled_text("T {time} N {gateway} {x}", NOON, SYDNEY, "+61491570110") == "T 12:00 N +61491570110 {x}"


RULE = 'silence_after = "26h"\n[[controllers.rules]]\ntext = "HELLO {time} *"\nmeans = "alive"'


@pytest.mark.parametrize(
    ("says", "told"),
    [
        ("HELLO 12:12 X", "Ridge box's clock 12 min fast"),
        ("HELLO 1100 X", "Ridge box's clock 60 min slow"),
        ("HELLO 12:01 X", ""),
    ],
)
def test_the_weeks_report(tmp_path, says, told):
    """A quarter of an hour is told; a minute is the network's."""
    days = FieldDays(tmp_path, controller=RULE, rest="", heard=False)
    text = Text(number=RIDGE, text=says, at=NOON, heard_at=NOON, stamp=NOON)
    days.at(NOON, lambda unit: read_text(unit, text))
    with days.store.read() as reader:
        said = week_list(reader, days.site, NOON + MIN, "mobile")
        assert reader.state(BoxClock, "ridge") is not None
    assert (told in said) if told else "clock" not in said


def test_a_text_without_a_stamp_says_nothing_of_the_clock(tmp_path):
    """Nor one whose stamp is not believed."""
    days = FieldDays(tmp_path, controller=RULE, rest="", heard=False)
    for stamp in (None, NOON - timedelta(days=900)):
        text = Text(number=RIDGE, text="HELLO 09:00 X", at=NOON, heard_at=NOON, stamp=stamp)
        days.at(NOON, lambda unit, text=text: read_text(unit, text))
    with days.store.read() as reader:
        assert reader.state(BoxClock, "ridge") is None
