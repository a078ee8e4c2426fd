"""The taps ran dry in a house that is called by turns: everyone is warned at once, and asked when their turn comes."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.handlers.days import Days
from tests.household import FINCH, ROBIN, WREN

JUNE, H, M = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1), timedelta(minutes=1)
TAPS = '[bleed]\ntaps = ["laundry", "kitchen"]\n'
TURNS = (
    TAPS
    + '[call_out]\ntake_within = "15m"\n[[contacts]]\nid = "finch"\nname = "Finch"\nnumber = "0491 570 158"\nabout = ["tanks"]\nturn = 3\n'
)


@pytest.fixture
def by_turns(tmp_path):
    """Wren is called first, then Robin, who sleeps from ten on, then Finch."""
    made = Days(tmp_path, rest=TURNS, robin='turn = 2\nquiet = "22:00-06:30"')
    yield made
    made.store.close()


def by_number(left):
    """Number → what it got."""
    return {number: [text for to, text in left if to == number] for number, _ in left}


def test_nobody_drinks_unwarned_because_it_is_not_their_turn(by_turns):
    """Who takes it in the first minute ends the calls, and the others would have read for eight hours of nothing."""
    days = by_turns
    first = by_number(days.says(JUNE, "DRY"))
    assert set(first) == {WREN, ROBIN, FINCH} and "OK" in first[WREN][0]
    for number in (ROBIN, FINCH):
        (text,) = first[number]
        assert "Do not drink the water" in text and "Reply OK" not in text
    taken = by_number(days.says(JUNE + M, "OK"))
    assert taken[ROBIN] == taken[FINCH] == ["Wren sees to it: Taps DRY."]
    safe = by_number(days.says(JUNE + 5 * H, "SAFE"))
    assert {number: len(texts) for number, texts in safe.items()} == {WREN: 1, ROBIN: 1, FINCH: 1}


def test_who_is_warned_is_called_all_the_same_when_their_turn_comes(by_turns):
    """And answers like anybody; who was only warned may take it too."""
    days = by_turns
    days.says(JUNE, "DRY")
    called = by_number(days.time_brings(JUNE + 16 * M))
    assert set(called) == {ROBIN} and "Nobody has it yet" in called[ROBIN][0] and "Reply OK" in called[ROBIN][0]
    (reply,) = by_number(days.says(JUNE + 17 * M, "OK", number=FINCH))[FINCH]
    assert reply == "You have it: Taps DRY."


def test_the_warning_wakes_nobody_and_is_read_whole_in_the_morning(by_turns):
    """One who is not called yet sleeps on; what waited comes as one message, and who takes care of it behind the caution."""
    days, night = by_turns, JUNE + 13 * H
    assert set(by_number(days.says(night, "DRY"))) == {WREN, FINCH}
    assert ROBIN not in by_number(days.says(night + M, "OK"))
    assert days.time_brings(night + 4 * H) == []
    (morning,) = by_number(days.time_brings(night + 6 * H))[ROBIN]
    assert "ask your local authority. Close the house valve" in morning and morning.endswith(
        "Wren sees to it: Taps DRY."
    )


def test_safe_again_before_the_morning_is_all_that_is_told_then(by_turns):
    """No warning of water that nobody could draw meanwhile."""
    days, night = by_turns, JUNE + 13 * H
    days.says(night, "DRY")
    days.says(night + 2 * H, "SAFE")
    assert by_number(days.time_brings(night + 6 * H)) == {ROBIN: ["Wren says at 03:00: the water is safe again."]}


def test_who_says_so_in_a_later_turn_is_answered_at_once_and_once(by_turns):
    """Also at night: they are at the tap. It is the others who are asked."""
    days, night = by_turns, JUNE + 13 * H
    left = by_number(days.says(night, "DRY", number=ROBIN))
    (mine,) = left[ROBIN]
    assert mine.startswith("Kept: the taps are dry.") and "Reply OK" not in mine
    assert "Reply OK" in left[WREN][0]
    assert set(by_number(days.says(night + M, "OK"))) == {WREN, FINCH}, "nothing more before the morning"
    (over,) = by_number(days.says(night + 8 * H, "SAFE"))[ROBIN][-1:]
    assert "the water is safe again" in over


def test_the_warning_is_held_by_no_limit_of_the_day(household):
    """Robin got the day's share in the morning; the warning would have come at midnight."""
    days = household(rest=f"{TURNS}[limits]\na_day_each = 1\ntexts_per_day = 3\n", robin="turn = 2")
    days.comes(JUNE - H, "LINE 2 MADE 1")
    days.leaves(JUNE - H)
    warned = by_number(days.says(JUNE, "DRY"))
    assert "Do not drink the water" in warned[ROBIN][0] and "Do not drink the water" in warned[FINCH][0]


def test_who_was_called_in_the_night_is_not_warned_in_the_morning(by_turns):
    """The call said it all; at half past six the same came again, after who sees to it."""
    days, night = by_turns, JUNE + 13 * H
    days.says(night, "DRY")
    assert ROBIN in by_number(days.time_brings(night + 16 * M))
    days.says(night + 20 * M, "OK")
    assert ROBIN not in by_number(days.time_brings(night + 6 * H))
