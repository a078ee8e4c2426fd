"""What the night held leaves in the morning with the words that are true then; what is over by then leaves not at all."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.alarms import rounds
from gateway.handlers.due import do_what_is_due
from gateway.handlers.enqueue import enqueue
from gateway.handlers.event_followers import record_event
from tests.handlers.days import Days
from tests.handlers.test_alarms import passes
from tests.household import RIDGE, ROBIN, WREN

NIGHT = datetime(2026, 7, 6, 13, 0, tzinfo=UTC)
"""Eleven at night on a Monday at home; Wren sleeps until half past six."""
M, H = timedelta(minutes=1), timedelta(hours=1)
MORNING = NIGHT + 7 * H + 30 * M


@pytest.fixture
def days(tmp_path):
    """One person who sleeps; the low tank upstream, power and silence wake nobody."""
    made = Days(tmp_path, wren='quiet = "22:00-06:30"', robin="about = []", rest='[call_out]\nurgent_within = "1m"\n')
    yield made
    made.store.close()


def in_the_morning(days):
    """The texts that leave at half past six, none before."""
    assert days.leaves(NIGHT + 5 * H) == []
    days.at(MORNING, lambda unit: do_what_is_due(unit, verdicts=False))
    return [text for number, text in [*days.leaves(MORNING), *days.leaves(MORNING)] if number == WREN]


def comes(days, *texts):
    """At night, a minute apart."""
    for minute, text in enumerate(texts):
        days.comes(NIGHT + minute * M, text)
    assert days.leaves(NIGHT + 30 * M) == []


def test_an_alarm_is_told_with_its_day(days):
    """At eleven it was `23:00`."""
    comes(days, "MAINS GONE")
    assert days.outbox()[0][1].startswith("Ridge box without power since 23:00")
    (told,) = in_the_morning(days)
    assert told.startswith("Ridge box without power since Mon 23:00")
    assert [text.text for text in days.texts() if text.way == "out"] == [told]


def test_its_forecast_is_that_of_the_morning(days):
    """A dry time that has gone by is left unsaid, and what the night taught is in it."""
    comes(days, "LINE 2 BROKE 0", "LINE 2 MADE 1")
    written = days.outbox()[0][1]
    days.comes(NIGHT + 6 * H, "LINE 1 BROKE 2")
    (told,) = in_the_morning(days)
    assert "Spring tank LOW since Mon 23:01" in told and told != written


def test_several_are_one_message_with_each_as_it_is(days):
    """An alarm, and the end of another that was told in the evening."""
    days.comes(NIGHT - 3 * H, "LINE 2 MADE 1")
    assert len(days.leaves(NIGHT - 3 * H)) == 1
    comes(days, "LINE 2 BROKE 2", "MAINS GONE")
    (told,) = in_the_morning(days)
    assert told.startswith("2 messages: ")
    assert "Spring tank is no longer low, Mon 23:00" in told and "Ridge box without power since Mon 23:01" in told


def test_what_told_of_no_alarm_has_its_day_too(days):
    """An event that neither opens nor ends one."""
    days.at(NIGHT, lambda unit: record_event(unit, unit.event("modem-back", {"lasted_s": 7200.0})))
    (written,) = days.outbox()
    (told,) = in_the_morning(days)
    assert "23:00" in written[1] and told == written[1].replace("23:00", "Mon 23:00")


def test_an_alarm_that_is_over_by_then_is_not_told(days):
    """It ended without a word (read again, worked on, told of anew): cancelled, on record."""
    comes(days, "MAINS GONE")
    with days.store.write() as tx:
        (alarm,) = tx.alarms()
        tx.put_alarm(rounds.end(alarm, NIGHT + H))
    assert in_the_morning(days) == []
    assert [event.detail["contact"] for event in days.events("cancelled")] == ["wren"]


def test_of_two_of_which_one_is_over_the_other_is_told_alone(days):
    """No digest of one."""
    comes(days, "MAINS GONE", "LINE 2 MADE 1")
    with days.store.write() as tx:
        (alarm,) = (alarm for alarm in tx.alarms() if alarm.kind == "power-lost")
        tx.put_alarm(rounds.end(alarm, NIGHT + H))
    (told,) = in_the_morning(days)
    assert told.startswith("Spring tank LOW since Mon 23:01")


def test_what_is_no_event_s_own_words_stays_as_it_was_written(days):
    """A message that an event caused and that says something else."""
    days.comes(NIGHT, "MAINS GONE")
    event = days.events("power-lost")[0].id
    wren = days.site.contacts["wren"]
    with days.store.write() as tx:
        for message in tx.outbox():
            tx.change_message(message.id, state="failed")
    for text, of in (("word for word", event), ("the week", None)):
        days.at(NIGHT, lambda unit, t=text, e=of: enqueue(unit, wren, t, urgent=False, subject="controllers", event=e))
    (told,) = in_the_morning(days)
    assert told == "2 messages: word for word / the week"


def test_several_alarms_of_one_message_are_named_anew(days):
    """They were joined before they were held."""
    comes(days, "MAINS GONE", "LINE 2 MADE 1")
    assert "23:01" in days.outbox()[0][1] and "Mon" not in days.outbox()[0][1]
    (told,) = in_the_morning(days)
    assert told == "2 alarms: Spring tank LOW Mon 23:01; Ridge box without power Mon 23:00."


def test_what_goes_with_an_alarm_of_the_evening_is_said_alone(days):
    """The battery of a box whose power was told: its own words, and nobody is asked for an OK."""
    days.comes(NIGHT - 3 * H, "MAINS GONE")
    assert len(days.leaves(NIGHT - 3 * H)) == 1
    comes(days, "SUPPLY 11.6 V")
    (told,) = in_the_morning(days)
    assert told.startswith("Ridge box: battery LOW") and "Mon 23:00" in told
    assert "power" not in told and "Reply OK" not in told


LIMIT = '[call_out]\ntake_within = "15m"\nremind_every = "1h"\n[limits]\na_day_each = 2\n'


@pytest.mark.parametrize("taken", [False, True], ids=["nobody's", "taken"])
def test_what_the_day_s_limit_held_is_said_once_and_as_it_stands(household, taken):
    """At midnight the two reminders of the afternoon came, word for word alike, and that nobody has it: also to who had taken it since."""
    days = household(controller='silence_after = "off"', robin="turn = 2", rest=LIMIT)
    noon, midnight = NIGHT - 11 * H, NIGHT + H
    days.says(noon, "LINE 1 MADE 1", number=RIDGE)
    passes(days, noon, NIGHT - M)
    if taken:
        assert days.says(NIGHT, "OK") == [(WREN, "You have it: House tank LOW.")]
    passes(days, NIGHT, midnight - M)
    left = [told for _ in range(9) for told in days.leaves(midnight)]
    if taken:
        assert left == [(ROBIN, "Wren sees to it: House tank LOW.")]
    else:
        assert [number for number, text in left] == [WREN, ROBIN]
        assert all("Still open, nobody has it." in text for _, text in left)


def test_what_is_urgent_still_is_not_cut_from_the_morning_s_digest(household):
    """It came last: `3 messages: …` ended before it said that nobody has the low house tank."""
    rest = '[call_out]\ntake_within = "15m"\nurgent_within = "1m"\n'
    days = household(controller='silence_after = "off"', wren='quiet = "22:00-06:30"', robin="about = []", rest=rest)
    for minute in range(3):
        days.at(NIGHT + minute * M, lambda unit: record_event(unit, unit.event("modem-back", {"lasted_s": 7200.0})))
    days.says(NIGHT + 3 * M, "LINE 1 MADE 1", number=RIDGE)
    passes(days, NIGHT + 3 * M, MORNING - M)
    (text,) = (text for number, text in days.leaves(MORNING) if number == WREN)
    assert text.startswith("4 messages: Nobody has answered for: House tank LOW. Reply OK if you see to it, else NO. /")
