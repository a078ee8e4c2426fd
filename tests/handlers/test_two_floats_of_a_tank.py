"""A tank of which two floats, or a gauge, say that it is low: it is over when none of them says so, and the lower one is worse."""

import pytest

from tests.handlers.test_alarms import MORNING, H, M, standing
from tests.household import RIDGE, ROBIN, WREN

TWO = """
[[tanks]]
id = "stock"
name = "Stock tank"
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "low"
  level_m = 0.6
  [[tanks.floats]]
  controller = "ridge"
  input = 4
  means = "low"
  level_m = 0.2
"""
GAUGE = """
[[tanks]]
id = "stock"
name = "Stock tank"
shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }
  [[tanks.gauges]]
  controller = "ridge"
  input = "L1"
  reads = "percent"
  low_m = 0.6
"""
READS = """
  [[controllers.rules]]
  text = "LEVEL {level}"
  means = "level"
  input = "L1"
"""


@pytest.fixture
def home(household):
    """The household as these tests have it, with other words in its file."""

    def make(**parts):
        days = household(**parts)
        for text in ("LINE 1 BROKE 1", "LINE 2 BROKE 2", "LINE 3 BROKE 3", "LINE 4 BROKE 4"):
            days.comes(MORNING - H, text)
        days.leaves(MORNING - H)
        return days

    return make


def test_the_lower_float_calls_again_and_its_end_is_not_the_tank_s(home):
    """Low at 0.6 m, taken; then at 0.2 m, of which nobody heard; and when that was over, the tank was told to be no longer low."""
    days = home(rest=TWO)
    assert len(days.says(MORNING, "LINE 3 MADE 3", number=RIDGE)) == 2
    days.says(MORNING + M, "OK")
    called = days.says(MORNING + 2 * H, "LINE 4 MADE 4", number=RIDGE)
    assert {number for number, text in called if "Stock tank LOW" in text and "Now urgent" not in text} == {WREN, ROBIN}
    assert standing(days)["low:stock"].alarm.taken_by is None
    assert days.says(MORNING + 3 * H, "LINE 4 BROKE 4", number=RIDGE) == []
    assert list(standing(days)) == ["low:stock"]
    over = days.says(MORNING + 4 * H, "LINE 3 BROKE 3", number=RIDGE)
    assert [number for number, text in over if "no longer low" in text] == [WREN, ROBIN]
    assert standing(days) == {}


def test_the_upper_float_after_the_lower_one_is_no_news(home):
    """Its text came late: what was told weighs more."""
    days = home(rest=TWO)
    days.says(MORNING, "LINE 4 MADE 4", number=RIDGE)
    days.says(MORNING + M, "OK")
    assert days.says(MORNING + 2 * M, "LINE 3 MADE 3", number=RIDGE) == []
    assert standing(days)["low:stock"].alarm.state == "taken"


def test_a_lost_end_of_the_lower_float_holds_no_alarm(home):
    """Where the upper one is idle the water is above both."""
    days = home(rest=TWO)
    days.says(MORNING, "LINE 3 MADE 3", number=RIDGE)
    days.says(MORNING + H, "LINE 4 MADE 4", number=RIDGE)
    over = days.says(MORNING + 2 * H, "LINE 3 BROKE 3", number=RIDGE)
    assert all("no longer low" in text for _, text in over) and len(over) == 2 and standing(days) == {}


def test_a_word_ends_both(home):
    """`OVER stock`: told once."""
    days = home(rest=TWO)
    days.says(MORNING, "LINE 3 MADE 3", number=RIDGE)
    days.says(MORNING + H, "LINE 4 MADE 4", number=RIDGE)
    told = [text for number, text in days.says(MORNING + 2 * H, "OVER stock") if number == ROBIN]
    assert len(told) == 1 and standing(days) == {}


def test_a_word_moves_no_gauge(home):
    """A tank with a gauge that reads low: who sent OVER was answered that nothing of it is open."""
    days = home(controller=READS, rest=GAUGE)
    days.says(MORNING, "LEVEL 60", number=RIDGE)
    days.says(MORNING + H, "LEVEL 30", number=RIDGE)
    ((number, text),) = days.says(MORNING + 2 * H, "OVER stock")
    assert number == WREN and text.startswith("Stock tank LOW since 11:00.") and list(standing(days)) == ["low:stock"]


def test_a_box_that_dies_while_its_gauge_reads_low_calls_people_out(home):
    """Nobody can see how that goes on, however long the water may last."""
    days = home(controller='silence_after = "26h"\n' + READS, rest=GAUGE + '[call_out]\nurgent_within = "10m"\n')
    days.comes(MORNING, "LEVEL 60")
    days.comes(MORNING + H, "LEVEL 30")
    days.leaves(MORNING + H)
    for hours in range(2, 31):
        days.time_brings(MORNING + hours * H)
    assert standing(days, MORNING + 30 * H)["silence:ridge"].alarm.priority == "urgent"


def test_the_lower_float_is_low_no_more_where_the_upper_one_says_so(home):
    """Its own end was lost: TANKS said LOW of a tank that everyone had been told is low no longer, and what it said next told nobody."""
    days = home(rest=TWO)
    days.says(MORNING, "LINE 4 MADE 4", number=RIDGE)
    days.says(MORNING + H, "LINE 3 MADE 3", number=RIDGE)
    days.says(MORNING + 2 * H, "LINE 3 BROKE 3", number=RIDGE)
    ((_, line),) = days.says(MORNING + 2 * H + M, "TANKS")
    assert "Stock tank ok." in line
    called = days.says(MORNING + 3 * H, "LINE 4 MADE 4", number=RIDGE)
    assert [number for number, text in called if text.startswith("Stock tank LOW since 13:00")] == [WREN, ROBIN]


def test_the_end_is_told_also_by_a_float_that_is_heard_for_the_first_time(household):
    """The lower float was told of, the upper one had never been heard: that it is idle ended the alarm, and nobody heard it."""
    days = household(rest=TWO)
    days.says(MORNING, "LINE 4 MADE 4", number=RIDGE)
    over = days.says(MORNING + H, "LINE 3 BROKE 3", number=RIDGE)
    assert [number for number, text in over if "no longer low" in text] == [WREN, ROBIN] and standing(days) == {}


TROUGH = """
[[tanks]]
id = "trough"
name = "Trough"
fed_by = ["stock"]
  [[tanks.floats]]
  controller = "ridge"
  input = 5
  means = "low"
"""


def test_the_lower_float_of_a_tank_that_goes_with_another_is_told(home):
    """The stock tank's alarm is told with the trough's that it feeds; that its water went on falling was told to nobody."""
    days = home(rest=TWO + TROUGH)
    days.says(MORNING, "LINE 5 MADE 5", number=RIDGE)
    days.says(MORNING + M, "LINE 3 MADE 3", number=RIDGE)
    assert [folded.key for folded in standing(days)["low:trough"].folded] == ["low:stock"]
    left = days.says(MORNING + H, "LINE 4 MADE 4", number=RIDGE)
    assert [(number, "Stock tank LOW" in text) for number, text in left] == [(WREN, True), (ROBIN, True)]
    assert list(standing(days)) == ["low:trough"]
