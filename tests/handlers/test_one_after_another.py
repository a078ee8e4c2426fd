"""An alarm that takes the place of another: who was told of the first, and what became of one that stands by itself after its cause."""

import pytest

from tests.handlers.test_alarms import DAY, MORNING, TURNS, H, M, delivered, passes, standing
from tests.household import RIDGE, ROBIN, WREN

CHAIN = """
[[tanks]]
id = "middle"
name = "Middle tank"
shape = { kind = "box", length_m = 1.5, width_m = 1.0, height_m = 1.2 }
fed_by = ["spring"]
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "low"
  level_m = 0.4
[[tanks]]
id = "stock"
name = "Stock tank"
shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }
fed_by = ["middle"]
  [[tanks.floats]]
  controller = "ridge"
  input = 4
  means = "low"
  level_m = 0.45
[call_out]
urgent_within = "2h"
"""


@pytest.mark.parametrize("again", [1, 2])
def test_who_was_told_before_it_came_again_is_told_of_the_end(household, again):
    """Both were called; its text comes again days later and Wren takes it at once: Robin, who believes it low, hears of the end too, once."""
    days = household(controller='silence_after = "off"', robin="turn = 2", rest=TURNS)
    days.comes(MORNING, "LINE 1 MADE 1")
    passes(days, MORNING, MORNING + H)
    last = MORNING + 2 * again * DAY
    for number in range(1, again + 1):
        days.says(MORNING + 2 * number * DAY, "LINE 1 MADE 1", number=RIDGE)
    days.says(last + M, "OK")
    over = days.says(last + 2 * H, "LINE 1 BROKE 1", number=RIDGE)
    assert [number for number, text in over if "no longer low" in text] == [WREN, ROBIN]


def test_who_was_told_of_the_reckoned_end_hears_of_no_second_one(household):
    """What came after it was another matter, which Robin was not told of."""
    days = household(controller='silence_after = "off"', robin="turn = 2", idle="", rest=TURNS)
    days.comes(MORNING, "LINE 1 MADE 1")
    passes(days, MORNING, MORNING + H)
    left = passes(days, MORNING + H, MORNING + 8 * DAY, step=H)
    assert any(number == ROBIN and "reckoned" in text for _, number, text in left)
    days.says(MORNING + 9 * DAY, "LINE 1 MADE 1", number=RIDGE)
    days.says(MORNING + 9 * DAY + M, "OK")
    over = days.says(MORNING + 9 * DAY + H, "OVER house")
    assert ROBIN not in [number for number, text in over if "well again" in text and "LOW" not in text]


def test_what_its_cause_told_of_is_looked_at_again_by_itself(household):
    """The middle tank, then the one above it; the middle one is over, and nobody looked any more when the house may be dry of the other."""
    days = household(rest=CHAIN)
    for text in ("LINE 1 BROKE 1", "LINE 2 BROKE 2", "LINE 3 BROKE 3", "LINE 4 BROKE 4"):
        days.comes(MORNING - 2 * H, text)
    days.comes(MORNING - H, "LINE 3 MADE 3")
    days.comes(MORNING, "LINE 2 MADE 2")
    assert [folded.key for folded in standing(days)["low:middle"].folded] == ["low:spring"]
    days.comes(MORNING + H, "LINE 3 BROKE 3")
    spring = standing(days, MORNING + H)["low:spring"]
    assert spring.next is not None and spring.next.what == "urgent"


def test_a_box_that_hides_a_low_tank_wakes_people_whatever_they_have_of_it(household):
    """Somebody has its lost power; that nobody sees the low tank any more waited for the morning, told as what goes with that."""
    quiet = 'quiet = "22:00-06:30"'
    rest = '[alarms.power-lost]\npriority = "urgent"\n'
    days = household(
        controller='silence_after = "6h"', wren=quiet, robin=f'about = ["tanks", "controllers"]\n{quiet}', rest=rest
    )
    evening = MORNING + 9 * H
    for text in ("MAINS GONE", "LINE 1 MADE 1"):
        days.says(evening, text, number=RIDGE)
    days.says(evening + M, "OK")
    delivered(days, evening + 2 * M)
    left = [told for hours in range(1, 11) for told in days.time_brings(evening + hours * H)]
    assert {number for number, text in left if text.startswith("Ridge box SILENT")} == {WREN, ROBIN}


def test_what_somebody_has_is_not_said_to_be_nobody_s(household):
    """Robin has the spring tank, and TANKS says so; of the house tank below it nobody answers, and Robin read that nobody has either."""
    days = household(controller='silence_after = "off"', robin="turn = 2", rest=TURNS)
    days.says(MORNING, "LINE 2 MADE 1", number=RIDGE)
    days.says(MORNING + M, "OK", number=ROBIN)
    days.says(MORNING + H, "LINE 1 MADE 1", number=RIDGE)
    left = passes(days, MORNING + H, MORNING + 2 * H)
    nobodys = [text for _, _, text in left if text.startswith("Nobody has answered")]
    nobodys += [text for _, text in days.says(MORNING + 3 * H, "NO", number=ROBIN)]
    assert len(nobodys) == 3 and all("for: House tank LOW. Reply" in text for text in nobodys)


def test_what_nobody_has_is_named_with_what_it_goes_with(household):
    """Both tanks are low: nobody answers for either."""
    days = household(controller='silence_after = "off"', robin="turn = 2", rest=TURNS)
    days.says(MORNING, "LINE 2 MADE 1", number=RIDGE)
    days.says(MORNING + M, "LINE 1 MADE 1", number=RIDGE)
    left = passes(days, MORNING + 2 * M, MORNING + H)
    nobodys = [text for _, _, text in left if text.startswith("Nobody has answered")]
    assert len(nobodys) == 2 and all("for: House tank LOW, Spring tank LOW. Reply" in text for text in nobodys)


def test_who_took_it_with_its_cause_has_it_after_that(household):
    """`You have it: Taps DRY, House tank LOW`; once the water was safe all were called for the house tank: nobody has it yet."""
    days = household(controller='silence_after = "off"', robin="turn = 2", rest=TURNS)
    days.says(MORNING, "LINE 1 MADE 1", number=RIDGE)
    days.says(MORNING + M, "DRY")
    assert (WREN, "You have it: Taps DRY, House tank LOW.") in days.says(MORNING + 2 * M, "OK")
    left = days.says(MORNING + H, "SAFE")
    left += [(number, text) for _, number, text in passes(days, MORNING + H, MORNING + 2 * H)]
    house = standing(days)["low:house"]
    assert (house.alarm.taken_by, house.next.what) == ("wren", "comes-back")
    assert not any("House tank LOW" in text for _, text in left)


def test_what_came_after_the_answer_is_not_taken_by_it(household):
    """Wren has the house tank; the spring tank is low later and goes with it, and stands by itself when the house tank is well."""
    days = household(controller='silence_after = "off"', robin="turn = 2", rest=TURNS)
    days.says(MORNING, "LINE 1 MADE 1", number=RIDGE)
    days.says(MORNING + M, "OK")
    days.says(MORNING + H, "LINE 2 MADE 1", number=RIDGE)
    assert [folded.key for folded in standing(days)["low:house"].folded] == ["low:spring"]
    days.says(MORNING + 2 * H, "LINE 1 BROKE 1", number=RIDGE)
    assert standing(days)["low:spring"].alarm.taken_by is None
