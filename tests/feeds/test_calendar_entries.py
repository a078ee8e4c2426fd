"""The record → each entry of the calendar, word for word and to the minute."""

from datetime import UTC, date, datetime, timedelta

import pytest

from gateway.facts.states.errands_and_tests import DrillWatched
from gateway.facts.states.people import WatchGiven
from gateway.feeds.calendar_entries import CalendarEntry, calendar_entries
from gateway.status.site_standing import site_standing
from tests.handlers.days import Days

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)  # a Wednesday, two in the afternoon
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
CARD = """
[[sims]]
id = "ridge-sim"
name = "Ridge box's card"
expires = "2027-06-30"
"""
WATCH = """
[[watch]]
contact = "robin"
days = ["wednesday"]
from = "12:00"
until = "18:00"
"""


@pytest.fixture
def entries(tmp_path):
    """entries(rest, do=…, at=…) → what stands in the calendar, by name without its stamps."""
    made = []

    def of(rest="", do=lambda days: None, at=NOW):
        days = Days(tmp_path, rest=rest)
        made.append(days)
        do(days)
        with days.store.read() as reader:
            return calendar_entries(reader, days.site, at)

    yield of
    for days in made:
        days.store.close()


def stamp(at):
    """As it stands in a name."""
    return f"{at.timestamp():.0f}"


def test_nothing_is_one_entry(entries):
    """Of today, where it is the day after by UTC's count."""
    today = CalendarEntry(
        name="nothing", says="Nothing is due, and no tank was low", begins=date(2026, 11, 26), ends=date(2026, 11, 27)
    )
    assert entries(at=NOW + 12 * HOUR) == (today,)


@pytest.mark.parametrize("every", ["", 'every = "90d"'])
def test_a_drill_takes_ten_minutes(entries, every):
    """On the day when it is due, at ten; only where it is wanted."""

    def watched(days):
        days.at(NOW, lambda unit: unit.tx.set_state(DrillWatched(since=NOW - DAY)))

    at = datetime(2027, 2, 22, 23, 0, tzinfo=UTC)
    drill = CalendarEntry(
        name=f"drill-{stamp(NOW - DAY)}",
        says="Test of the chain to the people: answer OK",
        begins=at,
        ends=at + HOUR / 6,
    )
    found = entries(f"[drill]\n{every}\n", watched)
    assert found == (drill,) if every else found[0].name == "nothing"


def test_a_card_and_the_turns_of_four_weeks(entries):
    """A card on its last day; the turn that began an hour ago too."""
    card, *turns = entries(CARD + WATCH, at=NOW - HOUR)
    assert (card.name, card.says) == ("card-ridge-sim-expires", "Ridge box's card is good until today")
    assert (card.begins, card.ends) == (date(2027, 6, 30), date(2027, 7, 1))
    began = [datetime(2026, 11, 25, 1, tzinfo=UTC) + week * 7 * DAY for week in range(5)]
    assert [(turn.begins, turn.ends) for turn in turns] == [(at, at + 6 * HOUR) for at in began[: len(turns)]]
    assert len(turns) == 5 and turns[0].name == f"watch-{stamp(began[0])}" and turns[0].says == "Robin has the watch"


@pytest.mark.parametrize("until", [NOW + DAY, None])
def test_a_watch_by_word_goes_before_the_weeks_turns(entries, until):
    """Until then, or as far as is looked ahead."""
    given = WatchGiven(contact="wren", by=None, since=NOW - DAY, until=until)
    first, *following = entries(WATCH, lambda days: days.at(NOW, lambda unit: unit.tx.set_state(given)))
    assert (first.says, first.begins, first.ends) == ("Wren has the watch", NOW - DAY, until or NOW + 28 * DAY)
    began = [datetime(2026, 12, 2, 1, tzinfo=UTC) + week * 7 * DAY for week in range(4)]
    assert [turn.begins for turn in following] == (began if until else [])


def test_a_low_tank_and_when_it_may_be_empty(entries):
    """For an hour from when it is likely, with the range in local time; what is over ends then."""
    standing = []

    def low(days):
        days.comes(NOW - 30 * HOUR, "LINE 2 MADE 0717")
        days.comes(NOW - 28 * HOUR, "LINE 2 BROKE 0917")
        days.comes(NOW - 2 * HOUR, "LINE 1 MADE 1200")
        with days.store.read() as reader:
            standing.append(site_standing(reader, days.site, NOW).forecasts["house"].dry_at)

    empty, over, lasting = entries(do=low)
    early, likely, late = (at.astimezone(empty.begins.tzinfo) for at in standing[0])
    assert (empty.says, empty.begins, empty.ends) == ("House tank may be empty", likely, likely + HOUR)
    assert empty.name == f"dry-house-{stamp(NOW - 2 * HOUR)}"
    assert empty.more == f"As it was reckoned; with 80 % between {early:%d.%m. %H:%M} and {late:%d.%m. %H:%M}."
    assert (over.name, over.says) == (f"low-spring-{stamp(NOW - 30 * HOUR)}", "Spring tank was low")
    assert (over.begins, over.ends) == (NOW - 30 * HOUR, NOW - 28 * HOUR)
    assert (lasting.says, lasting.begins, lasting.ends) == ("House tank is low", NOW - 2 * HOUR, NOW)


@pytest.mark.parametrize(("ago", "stands"), [(729, True), (731, False)])
def test_low_spells_of_two_years(entries, ago, stands):
    """No older ones."""

    def low(days):
        days.comes(NOW - ago * DAY, "LINE 2 MADE 0717")
        days.comes(NOW - ago * DAY + HOUR, "LINE 2 BROKE 0917")

    assert [entry.says for entry in entries(do=low)] == (
        ["Spring tank was low"] if stands else ["Nothing is due, and no tank was low"]
    )
