"""The chain to the people: tested on demand and by the calendar; an OK counts, whoever was not reached is named, overdue is told."""

from datetime import timedelta

import pytest

from gateway.facts.states.errands_and_tests import DrillUnderWay
from gateway.handlers.drill import begin_drill
from tests.errands.field_days import FINCH_NUMBER, NOON, FieldDays
from tests.household import ROBIN, WREN

MIN, DAY = timedelta(minutes=1), timedelta(days=1)


@pytest.fixture
def days(tmp_path):
    """Wren and Robin with phones, Finch on a landline."""
    return FieldDays(tmp_path)


def begins(days, now, *ids):
    """A drill, ordered at the terminal."""
    contacts = [days.site.contacts[id] for id in ids] or days.site.settings.contacts
    return days.at(now, lambda unit: begin_drill(unit, contacts))


def ended(days):
    """The last drill's kind, results by contact, and whom it names."""
    event = days.events("drill-passed", "drill-missed", "contact-tested")[-1]
    return event.kind, {leg["contact"]: leg["result"] for leg in event.detail["contacts"]}, event.detail["names"]


def test_everybody_in_their_own_wording(days):
    """A phone is asked for its OK, a voice is not; nobody is told that anything is wrong."""
    begins(days, NOON)
    left = dict(days.leaves(NOON))
    assert (
        left[WREN]
        == "Test from the gateway at Quandong Ridge: nothing is wrong. Please reply OK: then we know that alarms reach you."
    )
    assert left[FINCH_NUMBER].startswith("This is a test") and "OK" not in left[FINCH_NUMBER]


def test_how_long_each_leg_took(days):
    """Left, arrived, answered; it ends with the last of them and not before."""
    begins(days, NOON)
    days.leaves(NOON + MIN)
    for number in (WREN, ROBIN, FINCH_NUMBER):
        days.reported(NOON + 2 * MIN, number)
    days.texts(NOON + 3 * MIN, "ok")
    days.due(NOON + 3 * MIN)
    assert not days.events("drill-passed")
    days.texts(NOON + 4 * MIN, "OK", number=ROBIN)
    days.due(NOON + 4 * MIN)
    (event,) = days.events("drill-passed")
    legs = {leg["contact"]: list(leg.values())[1:] for leg in event.detail["contacts"]}
    assert legs == {
        "wren": ["answered", 60, 120, 180], "robin": ["answered", 60, 120, 240], "finch": ["delivered", 60, 120, None],
    }  # fmt: skip
    thanks = "Thank you. Your OK came: alarms reach you, and you us."
    assert thanks in days.told(NOON + 4 * MIN)
    days.texts(NOON + 5 * MIN, "OK")
    (later,) = days.told(NOON + 5 * MIN)
    assert later != thanks, "the test is over: an OK answers nothing of it any more"


def test_who_was_not_reached_is_named(days):
    """No OK within ten minutes, a number that is none; the report says so and the exit code with it."""
    begins(days, NOON)
    days.leaves(NOON)
    days.reported(NOON, WREN)
    days.reported(NOON, ROBIN, "failed")
    days.due(NOON + 10 * MIN)
    assert ended(days) == (
        "drill-missed", {"wren": "delivered", "robin": "failed", "finch": "sent"}, "Wren, Robin, Finch",
    )  # fmt: skip


def test_one_contact_alone_proves_nothing_of_the_others(days):
    """It is on record as that."""
    begins(days, NOON, "wren")
    days.leaves(NOON)
    days.texts(NOON + MIN, "OK")
    days.due(NOON + MIN)
    assert ended(days) == ("contact-tested", {"wren": "answered"}, "")


def test_an_ok_takes_the_alarm_and_counts_for_the_drill(days):
    """Who answers in the middle of both has it, and was reached."""
    begins(days, NOON, "wren")
    days.leaves(NOON)
    days.comes(NOON + MIN, "LINE 1 MADE 1201")
    days.leaves(NOON + MIN)
    days.texts(NOON + 2 * MIN, "OK")
    days.due(NOON + 2 * MIN)
    assert len(days.events("taken")) == 1 and ended(days)[1] == {"wren": "answered"}
    (answer,) = (text for text in days.told(NOON + 2 * MIN) if text.startswith("You have it"))
    assert answer.endswith(" The test is answered too.")


def test_an_ok_without_a_drill_is_none(days):
    """Nothing was tested, and nothing is open."""
    days.texts(NOON, "OK")
    assert not any("Thank you" in text for _, text in days.leaves(NOON))


def test_it_goes_on_over_a_restart(days):
    """What left before it died still counts."""
    begins(days, NOON, "wren")
    days.leaves(NOON)
    days.starts_again()
    days.texts(NOON + MIN, "OK")
    days.due(NOON + MIN)
    assert ended(days)[1] == {"wren": "answered"}


def calendar(days, start, until, answers):
    """Each time that something is due; who answers does so at once. When tests left, by local day and hour."""
    now, tests = start, []
    while now is not None and now <= until:
        days.due(now)
        for number, text in days.leaves(now):
            if text.startswith("Test from"):
                tests.append((now.astimezone(days.site.zone).strftime("%H"), number))
                days.reported(now, number)
                if number in answers:
                    days.texts(now, "OK", number=number)
        again = days.due(now)
        now = None if again is None else max(again, now + MIN)
    return tests


def test_the_calendar_tests_by_day_and_everybody_answers(tmp_path):
    """Every thirty days at ten in the morning, and nothing is overdue."""
    days = FieldDays(tmp_path, controller='silence_after = "off"', rest='[drill]\nevery = "30d"')
    tests = calendar(days, NOON, NOON + 70 * DAY, (WREN, ROBIN))
    assert {hour for hour, _ in tests} == {"10"} and len(tests) == 4
    assert len(days.events("drill-passed")) == 2 and not days.events("drill-overdue")


def test_overdue_is_an_alarm_once_until_it_is_proven(tmp_path):
    """Robin never answers: named to the gateway's contacts, tried again after a third of the time, overdue once, and over with his OK."""
    days = FieldDays(tmp_path, controller='silence_after = "off"', rest='[drill]\nevery = "30d"')
    calendar(days, NOON, NOON + 50 * DAY, (WREN,))
    assert len(days.events("drill-missed")) == 2 and len(days.events("drill-overdue")) == 1
    with days.store.read() as reader:
        told = [text.text for text in reader.texts() if text.way == "out"]
    assert "Test of the chain: not reached or no OK: Robin. Ask them." in told
    assert any(text.startswith("The chain to the people has not been proven since") for text in told)
    begins(days, NOON + 51 * DAY)
    days.leaves(NOON + 51 * DAY)
    days.texts(NOON + 51 * DAY, "OK")
    days.texts(NOON + 51 * DAY, "OK", number=ROBIN)
    calendar(days, NOON + 51 * DAY, NOON + 52 * DAY, ())
    assert len(days.events("drill-passed")) == 1 and len(days.events("drill-overdue")) == 1


def test_no_longer_wanted(tmp_path):
    """Taken out of the file: neither tested nor overdue."""
    days = FieldDays(tmp_path, controller='silence_after = "off"', rest='[drill]\nevery = "30d"')
    days.configure(controller='silence_after = "off"')
    assert calendar(days, NOON, NOON + 90 * DAY, ()) == [] and not days.events("drill-overdue")
    with days.store.read() as reader:
        assert reader.state(DrillUnderWay) is None
