"""A known history → episodes, lanes and the calendar of a year."""

from datetime import UTC, date, datetime, timedelta

import pytest

from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, event, lows, show


def test_episodes_that_stand_close_are_drawn_as_one(site):
    """A chattering float makes one bar that says how often."""
    many = [event for n in range(50) for event in lows(3 + n / 1440 * 4, lasted=timedelta(minutes=2))]
    lane = next(lane for lane in show(site, *many).lanes if lane.name == "Spring tank")
    assert len(lane.episodes) == 1 and "50 times" in lane.episodes[0].text


def day_of(view, wanted):
    """One day of the calendar."""
    month = next(month for month in view.year.months if month.name == f"{wanted:%b} {wanted.year}")
    return month.days[wanted.day - 1]


def test_an_episode_marks_every_local_day_it_touches(site):
    """From the evening into the night: two days, neither of them for six hours; a whole day is."""
    evening = datetime(2026, 10, 4, 11, 0, tzinfo=UTC)  # 22:00, on the day that the clocks went forward
    view = show(
        site,
        event("low", evening, tank="spring"),
        event("low-over", evening + 4 * HOUR, tank="spring", lasted_s=14400.0),
        event("low", datetime(2026, 6, 1, 14, 0, tzinfo=UTC), tank="spring"),
        event("low-over", datetime(2026, 6, 2, 13, 0, tzinfo=UTC), tank="spring"),
        event("silent", evening, controller="creek"),
    )
    assert [day_of(view, date(2026, 10, day)).tone for day in (3, 4, 5)] == [None, "low", "low"]
    assert day_of(view, date(2026, 10, 4)).text == "Spring tank: low; Creek box at the lower paddock gate: silent"
    assert not day_of(view, date(2026, 10, 4)).long and day_of(view, date(2026, 6, 2)).long
    assert day_of(view, date(2026, 10, 6)).tone == "silent", "it is still silent"
    assert len(view.year.months) == 12 and view.year.months[-1].days[25:] == (None,) * 5, "days to come are empty"
    assert [month.blank for month in view.year.months if month.name == "Nov 2026"] == [6], "it began on a Sunday"


def test_the_weightiest_alarm_marks_a_day_and_notes_stand_beside(site):
    """A dry report outweighs all; a note only adds its mark."""
    view = show(
        site,
        *lows(2),
        event("ran-dry", NOW - 2 * DAY, tank=HOUSE_TANK, text="DRY"),
        event("note", NOW - 2 * DAY, text="cleaned the intake"),
    )
    day = day_of(view, (NOW - 2 * DAY).date())
    assert (day.tone, day.noted) == ("dry", True) and "cleaned the intake" in day.text


def test_repeated_weekdays_are_said(site):
    """Every Wednesday for two months."""
    view = show(site, *[event for week in range(1, 9) for event in lows(7 * week)])
    assert "most often on Wed" in view.year.by_weekday.verdict and view.year.by_weekday.worse
    assert dict(view.year.by_weekday.table.rows)["Wed"] == "8"


def test_too_few_low_episodes_say_nothing_of_weekdays(site):
    """Six are too few; the seventh makes a chart."""
    few = show(site, *lows(1, 2, 3, 4, 5, 6)).year.by_weekday
    assert few.lacking == "6 low spells in these twelve months; there is a chart from the seventh low spell on."
    assert show(site, *lows(7)).year.by_weekday.lacking == ""


@pytest.mark.parametrize(
    ("events", "lately", "year"),
    [
        ([], "Nothing is on record yet.", "Nothing is on record yet."),
        (
            [("alive", 3)],
            "Nothing was low, high, silent or out since 22 Nov, when the record begins,",
            "since 22 Nov, when the record",
        ),
        (
            [("alive", 500)],
            "Nothing was low, high, silent or out in these fourteen days,",
            "out in these twelve months,",
        ),
        ([("alive", 500), ("silent", 20), ("heard-again", 19)], "out in these fourteen days,", ""),
        ([("alive", 500), ("silent", 2)], "", ""),
    ],
)
def test_where_nothing_was_it_is_said_instead_of_drawn(site, events, lately, year):
    """Empty lanes and a calendar without a mark: since when nothing was, which is not from before the record began."""
    view = show(site, *[event(kind, NOW - ago * DAY, controller="creek") for kind, ago in events])
    for expected, shown in ((lately, view.nothing_lately), (year, view.year.nothing)):
        assert bool(shown) is bool(expected) and expected in shown
