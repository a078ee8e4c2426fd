"""What sets or switches: confirmed by a code, ended after its time. Each way in which that could go wrong at a pump."""

import re
from datetime import timedelta

import pytest

from gateway.facts.states.errands_and_tests import ErrandCode
from gateway.handlers import deliver
from tests.errands.field_days import FINCH_NUMBER, NOON, FieldDays
from tests.household import ROBIN, WREN

MIN = timedelta(minutes=1)


@pytest.fixture
def days(tmp_path):
    """A household whose box was heard at noon."""
    return FieldDays(tmp_path)


def code_for(days, now, words="ASK ridge flush"):
    """Orders it, and reads the code off the phone."""
    days.texts(now, words)
    (answer,) = days.told(now)
    return re.search(r"YES (\d{4})", answer)[1]


def test_the_code_comes_back(days):
    """Nothing leaves before it; with it the errand does, and the caution stood beside it, whole."""
    days.texts(NOON, "ASK ridge flush")
    (answer,) = days.told(NOON)
    assert "be sure that nobody is near" in answer and answer.endswith("for licensed people.")
    days.texts(NOON + MIN, f"yes {re.search('YES (....)', answer)[1]}")
    assert days.to_the_box(NOON + MIN) == ["OUT 1 ON"]


@pytest.mark.parametrize(
    ("number", "says", "heard", "written"),
    [
        (WREN, "YES {other}", MIN, MIN),
        (ROBIN, "YES {code}", MIN, MIN),
        (FINCH_NUMBER, "YES {code}", MIN, MIN),
        (WREN, "YES {code}", 5 * MIN, 5 * MIN),
        (WREN, "YES {code} please", MIN, MIN),
        (WREN, "YES", MIN, MIN),
    ],
)
def test_what_does_not_confirm(days, number, says, heard, written):
    """Another code, another phone, after five minutes, with other words: nothing leaves."""
    code = code_for(days, NOON)
    other = f"{(int(code) + 1) % 10000:04d}"
    days.texts(NOON + heard, says.format(code=code, other=other), number=number, at=NOON + written)
    assert days.to_the_box(NOON + heard) == [] and days.ends() == []


def test_once(days):
    """The same text a second time does not switch a second time."""
    code = code_for(days, NOON)
    days.texts(NOON + MIN, f"YES {code}")
    assert days.to_the_box(NOON + MIN) == ["OUT 1 ON"]
    days.comes(NOON + MIN, "OUT 1 ON")
    days.texts(NOON + 2 * MIN, f"YES  {code}")
    left = days.leaves(NOON + 2 * MIN)
    assert ("OUT 1 ON" not in [text for _, text in left]) and "No such code now" in left[-1][1]


def test_a_new_code_ends_the_old_one(days):
    """Only what was asked last is confirmed."""
    first, second = code_for(days, NOON), code_for(days, NOON + MIN, "ASK ridge clock")
    assert first != second
    days.texts(NOON + 2 * MIN, f"YES {first}")
    assert days.to_the_box(NOON + 2 * MIN) == []
    days.texts(NOON + 3 * MIN, f"YES {second}")
    assert days.to_the_box(NOON + 3 * MIN) == ["CLOCK 12:03"]


@pytest.mark.parametrize(
    ("number", "says", "late", "why"),
    [
        (FINCH_NUMBER, "ASK ridge flush", 0 * MIN, "landline"),
        (ROBIN, "ASK ridge flush", 0 * MIN, "not-yours"),
        (WREN, "ASK ridge flush", 6 * MIN, "late"),
    ],
)
def test_who_gets_no_code(days, number, says, late, why):
    """A landline, somebody who may not, a text that took six minutes."""
    days.texts(NOON + 10 * MIN, says, number=number, at=NOON + 10 * MIN - late)
    assert [event.detail["why"] for event in days.events("errand-refused")] == [why]
    assert not any("YES" in text for _, text in days.leaves(NOON + 10 * MIN))


def test_never_while_the_box_is_silent(days):
    """Neither by phone nor at the command line."""
    late = NOON + 27 * 60 * MIN
    days.texts(late, "ASK ridge flush")
    assert days.order(late, "flush").detail["why"] == "silent"
    assert [event.detail["why"] for event in days.events("errand-refused")] == ["silent", "silent"]


def test_a_box_that_fell_silent_before_the_code_came(days):
    """It is looked at again then."""
    soon = NOON + 26 * 60 * MIN - MIN
    code = code_for(days, soon)
    days.texts(soon + 2 * MIN, f"YES {code}")
    assert days.to_the_box(soon + 2 * MIN) == []
    assert [event.detail["why"] for event in days.events("errand-refused")] == ["silent"]


def test_a_box_never_heard_is_set_up_but_not_switched(tmp_path):
    """At the command line, where somebody sits beside it; by phone neither."""
    days = FieldDays(tmp_path, heard=False)
    assert days.order(NOON, "flush").detail["why"] == "unknown"
    days.texts(NOON, "ASK ridge clock")
    assert [event.detail["why"] for event in days.events("errand-refused")] == ["unknown", "unknown"]
    assert days.order(NOON, "clock").kind == "errand-ordered"


def test_a_restart_between_code_and_confirmation(days):
    """The code is kept, and still good once."""
    code = code_for(days, NOON)
    days.starts_again()
    days.texts(NOON + MIN, f"YES {code}")
    assert days.to_the_box(NOON + MIN) == ["OUT 1 ON"]


def test_it_ends_after_its_time_also_over_a_restart(days):
    """Whatever was answered; said to who may hear of controllers."""
    days.order(NOON, "flush")
    days.leaves(NOON)
    assert days.due(NOON + 5 * MIN) <= NOON + 10 * MIN
    days.starts_again()
    days.due(NOON + 10 * MIN)
    left = days.leaves(NOON + 10 * MIN)
    assert [text for _, text in left][:1] == ["OUT 1 OFF"]
    assert (WREN, "Ridge box was told to end flush, 12:10. That was 10 min after it left.") in days.leaves(
        NOON + 10 * MIN
    )
    assert days.due(NOON + 11 * MIN) is None or days.due(NOON + 11 * MIN) > NOON + 60 * MIN


def test_a_stop_text_that_is_refused_is_tried_each_minute_and_told_as_urgent(days):
    """The pump may still run: everyone hears of it, and the minute the network is back it leaves."""
    days.order(NOON, "flush")
    days.leaves(NOON)
    days.comes(NOON + MIN, "OUT 1 ON")
    days.due(NOON + 10 * MIN)
    tries = [days.to_the_box(NOON + (10 + n) * MIN, "refused", verdict="our side", why="no network") for n in range(4)]
    assert tries == [["OUT 1 OFF"]] * 4
    assert len(days.events("errand-runs-on")) == 1
    left = days.leaves(NOON + 14 * MIN)
    assert "OUT 1 OFF" in [text for _, text in left]
    told = [text for number, text in left if number == WREN]
    assert told and told[0].startswith("Ridge box could NOT be told to end flush since 12:10: it may still run.")
    assert len(days.events("errand-stopped")) == 1


def test_a_stop_text_whose_number_is_refused_for_ever_is_tried_all_the_same(days):
    """The network may be wrong; something runs meanwhile."""
    days.order(NOON, "flush")
    days.leaves(NOON)
    days.due(NOON + 10 * MIN)
    days.to_the_box(NOON + 10 * MIN, "refused", verdict="never", why="no such number")
    assert days.to_the_box(NOON + 11 * MIN) == ["OUT 1 OFF"]
    assert len(days.events("errand-runs-on")) == len(days.events("errand-stopped")) == 1


def test_what_may_have_left_does_not_leave_twice(days):
    """The answer of the modem was lost: a toggle would undo itself. It is ended after its time all the same."""
    days.order(NOON, "flush")
    days.to_the_box(NOON, "unsure")
    assert days.to_the_box(NOON + MIN) == []
    days.due(NOON + 10 * MIN)
    assert days.to_the_box(NOON + 10 * MIN) == ["OUT 1 OFF"]


def test_cut_off_while_it_was_handed_over(days):
    """The gateway died in that moment: at the next start it does not leave again, and is ended."""
    days.order(NOON, "flush")
    assert days.at(NOON, deliver.claim_next).job.text == "OUT 1 ON"
    days.at(NOON + MIN, deliver.judge_unfinished)
    assert days.to_the_box(NOON + MIN) == []
    days.due(NOON + 11 * MIN)
    assert days.to_the_box(NOON + 11 * MIN) == ["OUT 1 OFF"]


def test_what_only_looks_is_sent_again_without_words_before_it(days):
    """A box would not know `(Perhaps a repeat) REPORT`."""
    days.order(NOON, "status")
    days.to_the_box(NOON, "unsure")
    assert days.to_the_box(NOON + MIN) == ["REPORT 12:00"]


def test_what_is_configured_no_more_while_it_runs_is_said(days):
    """Nobody knows what would end it: that is told, not forgotten."""
    days.order(NOON, "flush")
    days.leaves(NOON)
    days.configure()
    days.due(NOON + MIN)
    assert len(days.events("errand-runs-on")) == 1


def test_the_code_is_four_digits_of_chance(days):
    """A hundred of them: all of four digits, hardly any alike."""
    codes = []
    for n in range(30):
        days.texts(NOON + n * 20 * MIN, "ASK ridge flush")
        with days.store.read() as reader:
            codes.append(reader.state(ErrandCode, "wren").code)
    assert all(re.fullmatch(r"\d{4}", code) for code in codes) and len(set(codes)) > 25
