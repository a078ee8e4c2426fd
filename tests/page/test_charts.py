"""A known history → what its charts, tables and verdicts say."""

from datetime import UTC, datetime

import pytest

from gateway.facts import Message
from gateway.page.chart_scales import hour_scale, round_top, spread, twelve_months
from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, chart, event, lows, show


def test_low_episodes_that_come_closer_are_said_to_be_worse(site):
    """Ten days apart, then two: the last five against all before."""
    view = show(site, *lows(*range(120, 20, -10), *range(12, 0, -2)))
    between = chart(view, "Time between low spells", "Spring tank")
    assert between.worse and between.verdict.startswith("It runs low more often than it did. Usually ")
    assert not chart(view, "How long low spells last", "Spring tank").worse
    assert sum(int(row[1]) for row in between.table.rows) == 15, "each gap stands in the table once"


def test_low_episodes_that_last_longer_are_said_to_be_worse(site):
    """An hour each, then a day each."""
    view = show(site, *lows(*range(100, 50, -10), lasted=HOUR), *lows(*range(50, 0, -10), lasted=DAY))
    lasting = chart(view, "How long low spells last", "Spring tank")
    assert lasting.worse and "last longer" in lasting.verdict


def test_steady_episodes_are_not_called_better_or_worse(site):
    """The middle, the middle half and how many."""
    between = chart(show(site, *lows(*range(100, 0, -10))), "Time between low spells", "Spring tank")
    assert between.verdict == "Usually 10 days (9 seen)." and not between.worse


def fill(days_ago):
    """Low for a day, then full a day later; the high float bounces."""
    low = NOW - days_ago * DAY
    yield event("low", low, tank=HOUSE_TANK)
    yield event("low-over", low + DAY, tank=HOUSE_TANK, lasted_s=86400.0)
    yield from (event("high", low + 2 * DAY + n * HOUR, tank=HOUSE_TANK) for n in (0, 2, 4))
    yield from (event("high-over", low + 2 * DAY + n * HOUR, tank=HOUSE_TANK) for n in (1, 3))


def test_refill_and_delivered_flow(site):
    """From 0.45 m to 1.6 m in 24 h; a high float that bounces is one fill; the figure is what stands between the floats, and the use."""
    view = show(site, *fill(24), *fill(14), *fill(4))
    assert chart(view, "Refill time", "House <b>tank</b>").verdict == "Usually 24 h (3 seen)."
    litres = 3.14159 * 1000 * (1.6 - 0.45)
    assert chart(view, "Delivered flow", "House <b>tank</b>").verdict.startswith(
        f"Usually {(litres + 480) / 1440:.1f} l/min"
    )
    four = show(site, *fill(34))
    band, middle = chart(four, "Delivered flow", "House <b>tank</b>").marks[:2]
    assert (band.tone, middle.tone) == ("band", "ink") and 0 < band.bottom <= middle.top <= band.top <= 1
    spring = view.chart_groups[0]
    assert spring.charts == () and "low and a high float" in " ".join(spring.notes)


IN_PLACE = [
    (
        [],
        "Time between low spells",
        "No two low spells in these twelve months; there is a chart from the fourth low spell on.",
    ),
    (
        [],
        "How long low spells last",
        "No low spell in these twelve months; there is a chart from the third low spell on.",
    ),
    ([9, 2], "Time between low spells", "Usually 7 days (1 seen); there is a chart from the fourth low spell on."),
    ([9, 2], "How long low spells last", "Usually 2 h (2 seen); there is a chart from the third low spell on."),
    ([19, 9, 2], "Time between low spells", "Usually 8 days (2 seen); there is a chart from the fourth low spell on."),
    ([19, 9, 2], "How long low spells last", None),
    ([29, 19, 9, 2], "Time between low spells", None),
]


@pytest.mark.parametrize(("days_ago", "title", "instead"), IN_PLACE)
def test_too_little_for_a_chart_is_said_in_its_place(site, days_ago, title, instead):
    """What is known so far and from when there will be a chart; with enough there is one, and no such sentence."""
    spring = show(site, *lows(*days_ago)).chart_groups[0]
    assert [chart.title for chart in spring.charts if chart.title == title] == ([] if instead else [title])
    assert [note for note in spring.notes if note.startswith(title)] == ([f"{title}: {instead}"] if instead else [])


def test_too_few_fills_are_said(site):
    """Both charts of a fill wait for the third."""
    notes = " ".join(show(site, *fill(4)).chart_groups[2].notes)
    assert "Refill time: Usually 24 h (1 seen); there is a chart from the third fill on." in notes
    assert (
        "Delivered flow: Usually 2.8 l/min (1 seen). By the figures of the source 2.2 l/min; there is a chart from the third fill on."
        in notes
    )


@pytest.mark.parametrize(
    ("days_ago", "volts", "instead"),
    [
        (range(3), 12.8, "there is a chart from 7 Dec on."),
        (range(9), 12.8, "there is a chart from 30 Nov on."),
        (range(60, 63), 12.8, "there is a chart from the third week of volts on."),
        (range(9), 12.0, None),
        (range(20), 12.8, None),
    ],
)
def test_too_few_weeks_of_volts_are_said(site, days_ago, volts, instead):
    """The day on which there are enough, where the texts go on; a battery that is going flat is drawn at once."""
    falling = (
        event("reading", NOW - n * DAY, controller="ridge", volts=volts + n * 0.02 * (instead is None))
        for n in days_ago
    )
    ridge = show(site, *falling).chart_groups[3]
    assert ("Volts" in [chart.title for chart in ridge.charts]) is (instead is None)
    assert [note.endswith(instead or "") for note in ridge.notes if note.startswith("Volts: ")] == (
        [True] if instead else []
    )


def test_no_chart_is_drawn_of_next_to_nothing(site):
    """Whatever the age of a household, what is drawn has marks, and what is not says from when."""
    for days in (0, 1, 9, 30, 60):
        view = show(site, *[event for ago in range(days, 0, -8) for event in (*lows(ago), *fill(ago + 3))])
        drawn = [chart for group in view.chart_groups for chart in group.charts]
        assert all(len([mark for mark in chart.marks if mark.shape in ("bar", "dot")]) > 2 for chart in drawn)


def test_volts_and_sun_against_what_was_seen(site):
    """A battery that was low in June, where the sun is short, and well since: both charts and both tables say so."""
    june = datetime(2026, 6, 10, 2, 0, tzinfo=UTC)
    view = show(
        site,
        *[event("reading", june + n * DAY, controller="ridge", volts=11.8) for n in range(3)],
        *[event("reading", NOW - n * DAY, controller="ridge", volts=12.8) for n in range(30)],
        event("reading", NOW - HOUR, controller="ridge", volts=99.0),
    )
    volts, sun = chart(view, "Volts", "Ridge box"), chart(view, "Sun and use through the year", "Ridge box")
    assert "12.8 V" in volts.verdict and "steady" in volts.verdict and "On 3 days" in volts.verdict
    assert [row for row in volts.table.rows if row[0] == "Jun"] == [("Jun", "11.8 V", "11.8 V", "11.8 V", "3 / 3")]
    assert sun.worse and "Seen low in Jun, as it was worked out." in sun.verdict and "dull weeks" in sun.verdict
    june_row = sun.table.rows[5]
    assert june_row[0] == "Jun" and june_row[-2:] == ("11.8 V", "3 / 3") and sun.table.rows[6][-2] == ""
    november = ((10 + 0.5) / 12, "✓", "ink")
    signs = {(round(mark.x, 4), mark.text, mark.tone) for mark in sun.marks if mark.shape == "word"}
    assert signs >= {(round(5.5 / 12, 4), "✕", "low"), (round(november[0], 4), *november[1:])}
    assert view.chart_groups[4].charts == () and "no volts" in view.chart_groups[4].notes[0]


def test_texts_cost_by_local_month(site):
    """What was handed over, at its price; 13:30 UTC on 31 October is November in Sydney."""

    def sent(tx):
        october, november = (datetime(2026, 10, 31, hour, 30, tzinfo=UTC) for hour in (12, 13))
        for at, state in ((october, "sent"), (november, "sent"), (NOW, "delivered"), (NOW, "failed")):
            message = tx.put_message(Message(contact="wren", number="+61491570156", text="x", at=at, segments=3))
            tx.change_message(message.id, state=state, at=at)

    assert show(site).chart_groups[-1].notes[0].endswith("there is a chart from the second month of texts on.")
    cost = chart(show(site, more=sent), "What texts cost")
    assert dict((row[0], row[1:]) for row in cost.table.rows)["Nov 2026"] == ("6", "0.72 AUD")
    assert cost.verdict.startswith("1.08 AUD in twelve months, 0.72 AUD this month so far.")


def test_years_stand_side_by_side_once_there_are_some(site):
    """Only with more than two years of history; sums of the store."""
    assert not [chart for chart in show(site, *lows(100)).chart_groups[0].charts if chart.id.endswith("years")]
    rows = chart(show(site, *lows(1100, 1090, 500, 300)), "Low spells year by year", "Spring tank").table.rows
    assert rows == (("2023", "2", "4 h"), ("2024", "0", ""), ("2025", "1", "2 h"), ("2026", "2", "4 h"))


def test_scales():
    """The middle half, round tops, and a logarithmic scale whose steps hold all that was seen."""
    assert (spread([]), spread([3.0])) == (None, spread([3.0, 3.0]))
    quarters = spread([1, 2, 3, 4, 5])
    assert quarters is not None and (quarters.low, quarters.middle, quarters.high) == (2, 3, 4)
    assert [round_top(most) for most in (0, 0.9, 1.2, 7, 41)] == [1, 1, 1.5, 8, 50]
    for hours in ([0.01], [0.5, 400.0], [5.0], [100000.0]):
        scale = hour_scale(hours)
        assert all(0 <= scale.share(value) <= 1 for value in hours) and len(scale.levels(str)) >= 2
        assert scale.share(scale.least_h) == 0 and scale.share(scale.most_h) == 1


def test_twelve_months_end_with_this_one(site):
    """Local months, this one whole."""
    times = twelve_months(site, NOW)
    assert times.names[0] == "Dec" and times.names[-1] == "Nov" and len(times.starts) == 12
    assert times.share(times.starts[0]) == 0 and times.share(times.end) == 1
    assert times.month_of(NOW) == 11
