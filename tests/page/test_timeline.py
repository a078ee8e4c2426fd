"""A known history → episodes, lanes and the calendar of a year."""

from datetime import UTC, date, datetime, timedelta

import pytest

from gateway.page.timeline import timeline, timeline_days
from gateway.page.year_calendar import year_calendar
from gateway.status.episodes import Episode
from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, event, lows, marks, show


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


def test_a_fortnight_along(english):
    """From two in the afternoon: its first midnight is ten hours later; the first of a month is named."""
    assert [(day, round(at, 4)) for day, at in timeline_days(english, NOW)] == [
        (day, round((10 + 48 * number) / 336, 4))
        for number, day in enumerate(("12 Nov", "14", "16", "18", "20", "22", "24"))
    ]
    assert [day for day, _ in timeline_days(english, NOW + 10 * DAY)] == [
        "22 Nov",
        "24",
        "26",
        "28",
        "30",
        "2 Dec",
        "4",
    ]


@pytest.mark.parametrize(
    ("gap", "drawn"),
    [
        (HOUR, [(0.5, 0.509, "low, 2 times from 18 Nov 14:00 to 18 Nov 17:00 (3 h)")]),
        (
            1.1 * HOUR,
            [
                (0.5, 0.503, "low from 18 Nov 14:00 to 18 Nov 15:00 (60 min)"),
                (0.506, 0.509, "low from 18 Nov 16:06 to 18 Nov 17:06 (60 min)"),
            ],
        ),
    ],
    ids=["near", "apart"],
)
def test_spells_within_an_hour_are_one_mark(english, gap, drawn):
    """In shares of the fortnight, from the first's beginning to the last's end."""
    at = NOW - 7 * DAY
    two = [Episode(where="t:spring", family="low", began=began, ended=began + HOUR) for began in (at, at + HOUR + gap)]
    lane = timeline(english, two, NOW)[0]
    assert [(round(mark.start, 3), round(mark.end, 3), mark.text) for mark in lane.episodes] == drawn


def test_what_reaches_beyond_the_fortnight_is_cut_at_its_ends(english):
    """A spell that is not over ends now; of one that began before it the mark begins with it."""
    long = Episode(where="t:spring", family="low", began=NOW - 20 * DAY, ended=None)
    before = Episode(where="t:hill", family="low", began=NOW - 20 * DAY, ended=NOW - 15 * DAY)
    spring, hill, *_ = timeline(english, [long, before], NOW)
    assert [(mark.start, mark.end) for mark in spring.episodes] == [(0.0, 1.0)] and hill.episodes == ()


@pytest.mark.parametrize(
    ("lows", "often"),
    [([2] * 4 + [0, 1, 3] * 3, True), ([2] * 4 + [0, 1, 3, 4, 5] * 2, False), ([2] * 3 + [0, 1, 3, 4], False)],
)
def test_a_weekday_that_stands_out(english, lows, often):
    """With four spells at the least, and more than twice what each would have; a bar half as wide as its day, and its count."""
    monday = datetime(2026, 3, 2, 2, tzinfo=UTC)
    began = sorted(monday + (day + 7 * number) * DAY for number, day in enumerate(lows))
    year = year_calendar(
        english, [Episode(where="t:spring", family="low", began=at, ended=at + HOUR) for at in began], began[0], NOW
    )
    assert year.by_weekday.worse is often and not year.by_weekday.lacking
    assert (0.321, 0.071, 0, 1.0) in marks(year.by_weekday, "bar") and (0.357, 0, 0, 1.0) in marks(
        year.by_weekday, "word"
    )
    assert [(name, round(at, 3)) for name, at in year.by_weekday.times[:2]] == [("Mon", 0.071), ("Tue", 0.214)]


@pytest.mark.parametrize(("hours", "long"), [(5.99, False), (6, True)])
def test_a_day_is_low_for_long_from_six_hours_on(english, hours, long):
    """Of one tank."""
    at = datetime(2026, 6, 1, 0, tzinfo=UTC)
    year = year_calendar(english, [Episode(where="t:spring", family="low", began=at, ended=at + hours * HOUR)], at, NOW)
    assert (
        year.months[6].name == "Jun 2026"
        and year.months[6].days[0].long is long
        and year.summary == "days with a low tank: 1"
    )
