"""Whoever answers OK reads what it was taken for: every tank of it, or the test that it answers."""

from datetime import timedelta

from gateway.handlers.drill import begin_drill
from tests.handlers.test_alarms import MORNING, M, days, standing
from tests.household import ROBIN, WREN

__all__ = ["days"]


def test_a_tank_that_is_told_with_another_is_named_in_the_answer(days):
    """The spring is low too, told with the house: the answer named the house tank alone, and nobody knew who has the spring."""
    days.comes(MORNING, "LINE 1 MADE 1")
    days.comes(MORNING, "LINE 2 MADE 2")
    assert list(standing(days)) == ["low:house"]
    days.leaves(MORNING)
    days.comes(MORNING + M, "OK", number=WREN)
    answers = [text for number, text in days.outbox() if number == WREN and text.startswith("You have it")]
    assert len(answers) == 1 and "House tank LOW" in answers[0] and "Spring tank LOW" in answers[0]


def test_ok_to_a_test_is_not_held_against_who_was_not_told_of_an_alarm(days):
    """A tank is low, and the second turn was not told of it: their OK to the test was answered as if it meant the tank."""
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    days.at(MORNING + M, lambda unit: begin_drill(unit, unit.site.settings.contacts))
    days.leaves(MORNING + M)
    days.comes(MORNING + M + timedelta(seconds=20), "OK", number=ROBIN)
    theirs = [text for number, text in days.outbox() if number == ROBIN]
    assert any("Your OK came" in text for text in theirs) and not any("Not taken" in text for text in theirs)
    assert standing(days)["low:house"].alarm.state == "open"
