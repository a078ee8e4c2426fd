"""FLOWS and STOPPED: one question with the news of a low tank, whose answer moves the forecast."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.people import InflowAsked, InflowSaid
from gateway.status.forecast import forecast_of
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
"""A Wednesday; noon in Sydney."""
NIGHT = NOON + timedelta(hours=14)
MIN, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
QUESTION = "Does water run into House tank? Reply FLOWS or STOPPED."


@pytest.fixture
def days(tmp_path):
    """A household whose messages have room for a question."""
    made = Days(tmp_path, rest="[limits]\nsegments = 3\n")
    yield made
    made.store.close()


def texts_to(days, now, number=WREN):
    """What leaves for that phone."""
    return [left[-1] for left in days.leaves(now) if number in left]


def outlook(days, now):
    """The house tank's forecast."""
    with days.store.read() as reader:
        return forecast_of(reader, days.site, "house", now)


def test_the_news_of_a_low_tank_asks_once(days):
    """It is asked where either answer leads to another time; what is told again of the same tank does not ask again."""
    days.comes(NOON, "LINE 1 MADE 0717")
    assert outlook(days, NOON).asks
    (told,) = texts_to(days, NOON)
    assert QUESTION in told
    days.comes(NOON + MIN, "LINE 2 MADE 0717")
    assert not any("Does water run" in text for text in texts_to(days, NOON + MIN))


def test_tanks_asks_where_the_news_did_not(days):
    """Once: not what the news of this spell asked already, nor again what TANKS itself did."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)
    asked = []
    for minute, before in ((1, "asked"), (2, "forgotten"), (3, "asked")):
        if before == "forgotten":
            days.at(NOON + 2 * MIN, lambda unit: unit.tx.clear_state(InflowAsked))
        days.comes(NOON + minute * MIN, "TANKS", number=WREN)
        asked.append(any(QUESTION in text for text in texts_to(days, NOON + minute * MIN)))
    assert asked == [False, True, False]


def test_news_that_had_no_room_for_the_question_asked_nothing(tmp_path):
    """One segment holds what must be said: whoever texts TANKS is asked then."""
    days = Days(tmp_path, rest="[limits]\nsegments = 1\n")
    days.comes(NOON, "LINE 1 MADE 0717")
    assert not any("Does water run" in text for text in texts_to(days, NOON))
    days.comes(NOON + MIN, "TANKS", number=WREN)
    assert any("Does water run into House tank?" in text for text in texts_to(days, NOON + MIN))
    days.store.close()


@pytest.mark.parametrize(
    ("word", "answer", "later"), [("FLOWS", "water runs into", False), ("stopped", "no water runs into", True)]
)
def test_the_answer_enters_the_balance(days, word, answer, later):
    """Water runs in: it is drawn faster than it comes. None runs in: it is drawn as ever, and lasts."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)
    before = outlook(days, NOON + MIN)
    days.comes(NOON + MIN, word, number=WREN)
    (reply,) = texts_to(days, NOON + MIN)
    assert reply.startswith(f"Kept: {answer} House tank.") and "Likely dry" in reply
    after = outlook(days, NOON + MIN)
    assert not after.asks
    assert (after.dry_at[0] > before.dry_at[0]) is later
    assert (after.cause.kind == "heavy-draw") is not later
    days.comes(NOON + 3 * DAY, "LINE 1 BROKE 0717")
    days.comes(NOON + 9 * DAY, "LINE 1 MADE 0717")
    assert outlook(days, NOON + 9 * DAY).asks, "that was another spell"


def test_where_no_tank_is_low_nothing_was_asked(days):
    """It is said, and nothing is kept."""
    days.comes(NOON, "STOPPED", number=WREN)
    assert texts_to(days, NOON) == ["Nothing is asked: no tank is low."]
    with days.store.read() as reader:
        assert reader.state(InflowSaid) is None


@pytest.mark.parametrize(
    ("word", "moved"),
    [("FLOWS", "Sooner than told."), ("STOPPED", "Later than told."), ("PEOPLE 40", "Sooner than told.")],
)
def test_who_was_told_hears_once_that_the_time_moved_by_a_third(days, word, moved):
    """Of what somebody said; who looked is answered with the new time, and is not told again."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)
    days.comes(NOON + MIN, word, number=WREN)
    left = days.leaves(NOON + MIN)
    assert [number for number, text in left if moved in text] == [ROBIN] if word != "PEOPLE 40" else [WREN, ROBIN]
    days.comes(NOON + 2 * MIN, "PEOPLE 60", number=WREN)
    assert ("Sooner" in moved) is not any("Sooner than told." in text for _, text in days.leaves(NOON + 2 * MIN))


def test_a_small_move_is_not_told(days):
    """Five draw a little more than four."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)
    days.comes(NOON + MIN, "PEOPLE 5", number=WREN)
    assert not any("than told" in text for _, text in days.leaves(NOON + MIN))


def likely_was_told(days, times):
    """The house tank is low, and so many times as long was said to be left until it is likely dry (None: nothing was said of that)."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)

    def tell(unit):
        (alarm,) = unit.tx.alarms()
        unit.tx.put_alarm(replace(alarm, dry_likely=NOON + times * (alarm.dry_likely - NOON) if times else None))

    days.at(NOON, tell)


@pytest.mark.parametrize(("was_told", "moved"), [(1.3, "Sooner"), (1.1, None), (0.5, None), (None, None)])
def test_that_the_likely_time_moved_by_a_third_is_told_as_well(days, was_told, moved):
    """Five draw a little more than four: the early edge by itself moves by less than that."""
    likely_was_told(days, was_told)
    days.comes(NOON + MIN, "PEOPLE 5", number=WREN)
    told = [text for _, text in days.leaves(NOON + MIN) if "than told" in text]
    assert [text.partition(" than told.")[0].split()[-1] for text in told] == ([] if moved is None else [moved] * 2)


def test_a_likely_time_that_moves_little_by_little_is_held_to_what_was_told(days):
    """Five, then six for four: the second by a third of what was told, though not of what was thought meanwhile."""
    likely_was_told(days, 1.1)
    told = []
    for number, people in enumerate((5, 6), start=1):
        days.comes(NOON + number * MIN, f"PEOPLE {people}", number=WREN)
        told.append(any("Sooner than told." in text for _, text in days.leaves(NOON + number * MIN)))
    assert told == [False, True]


@pytest.mark.parametrize(("early", "told"), [(0.9, True), (1.1, False), (0.0, False)])
def test_what_may_be_sooner_is_never_told_to_be_later(days, early, told):
    """The likely time is later by a third; where the early edge is sooner, or has gone by, nobody is told to wait."""
    likely_was_told(days, 0.5)

    def tell_early(unit):
        (alarm,) = unit.tx.alarms()
        unit.tx.put_alarm(replace(alarm, dry_early=NOON + early * (alarm.dry_early - NOON)))

    days.at(NOON, tell_early)
    days.comes(NOON + MIN, "PEOPLE 4", number=WREN)
    assert any("Later than told." in text for _, text in days.leaves(NOON + MIN)) is told
