"""Row 40: no automatic reply starts a loop."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.people import RecentTexts
from gateway.orders import heard, like_a_machine, may_answer
from gateway.storage.stored_states import written
from tests.kept import kept

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def answered(texts, every=timedelta(seconds=5)):
    """How many of these texts, one after the other, may be answered."""
    talk, count = RecentTexts(), 0
    for number, text in enumerate(texts):
        talk = heard(kept(talk), text, NOW + number * every)
        count += not like_a_machine(talk)
    return count


@pytest.mark.parametrize(
    ("texts", "every", "answers"),
    [
        (["OK"] * 100, MINUTE / 12, 3),
        (["  ok ", "OK", "Ok", "OK"], MINUTE, 3),
        (["OK"] * 5, 6 * MINUTE, 5),
        ([f"away ({number})" for number in range(100)], MINUTE / 12, 6),
        (["TANKS", "WEEK", "OK", "TANKS", "WORDS", "TANKS"], MINUTE, 6),
        ([], MINUTE, 0),
    ],
)
def test_a_phone_that_answers_by_itself_gets_few_answers(texts, every, answers):
    """Three of the same text and six of all in ten minutes; a person is hardly ever so quick."""
    assert answered(texts, every) == answers


def test_a_machine_that_never_stops_gets_no_answer_again():
    """As long as it goes on, however long: what came without an answer counts too."""
    assert answered([f"I am away ({number})" for number in range(1000)], MINUTE) == 6


def test_an_echo_of_whatever_we_say_ends():
    """A phone that sends each of our answers back: few answers, then silence."""
    talk, said, count = RecentTexts(), "House tank is LOW since 04:11.", 0
    for number in range(100):
        talk = heard(talk, said, NOW + number * timedelta(seconds=10))
        if not like_a_machine(talk):
            count, said = count + 1, f"Not understood ({count})."
    assert count <= 6


@pytest.mark.parametrize(
    ("last", "may"),
    [
        (None, True),
        (timedelta(minutes=59), False),
        (timedelta(hours=1), True),
        (-timedelta(minutes=1), True),
    ],
)
def test_unknown_words_are_answered_once_an_hour(last, may):
    """And at once after a clock was set back."""
    assert may_answer(None if last is None else NOW - last, NOW) is may


def test_talk_keeps_little():
    """Ten minutes, a few texts, the beginning of each: it is stored for every contact."""
    talk = RecentTexts()
    for number in range(50):
        talk = heard(talk, "x" * 1000, NOW + number * timedelta(seconds=1))
    assert len(talk.heard) == 7 and len(written(talk)) < 1000
    assert len(heard(talk, "y", NOW + timedelta(hours=1)).heard) == 1
