"""Whoever answers NO reads what became of it: passed on, with nobody left, or somebody else's already."""

import pytest

from tests.handlers.days import Days
from tests.handlers.test_alarms import MORNING, H, M, days, passes, standing
from tests.household import ROBIN, WREN

__all__ = ["days"]


def test_no_after_all_turns_have_passed_is_no_word_that_nothing_waits(days):
    """The house tank is low and nobody took it: who then sent NO read that no alarm waits."""
    days.comes(MORNING, "LINE 1 MADE 1")
    passes(days, MORNING, MORNING + H)
    assert standing(days)["low:house"].alarm.state == "unanswered"
    ((number, text),) = days.says(MORNING + 2 * H, "NO", number=ROBIN)
    assert number == ROBIN and text.startswith("Nobody has answered for: House tank LOW. Reply OK")


@pytest.mark.parametrize("others", ['about = ["gateway"]', ""], ids=["alone", "both cannot"])
def test_where_nobody_is_left_it_is_not_said_to_be_passed_on(tmp_path, others):
    """One who looks after tanks, or two who both cannot: the last one hears that nobody has answered, once."""
    days = Days(tmp_path, robin=others)
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    if not others:
        assert (ROBIN, "Passed on: House tank LOW.") in days.says(MORNING + M, "NO", number=ROBIN)
    theirs = [text for number, text in days.says(MORNING + 2 * M, "NO") if number == WREN]
    assert len(theirs) == 1 and theirs[0].startswith("Nobody has answered for: House tank LOW.")
    days.store.close()


def test_no_to_what_another_has_names_them(days):
    """Wren has it; Robin, who was told of it too, is not told that no alarm waits."""
    days.comes(MORNING, "LINE 1 MADE 1")
    passes(days, MORNING, MORNING + 20 * M)
    days.says(MORNING + 21 * M, "OK")
    assert (ROBIN, "Wren has it already: House tank LOW.") in days.says(MORNING + 22 * M, "NO", number=ROBIN)


def test_who_passed_on_what_they_had_hears_that_nobody_took_it(days):
    """Wren took it, and then could not; Robin's phone is off: Wren, the only one awake, went on believing that it was passed on."""
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    days.says(MORNING + M, "OK")
    days.says(MORNING + 2 * M, "NO")
    left = passes(days, MORNING + 2 * M, MORNING + H)
    assert {number for _, number, text in left if text.startswith("Nobody has answered")} == {WREN, ROBIN}
