"""A known history → what its charts, tables and verdicts say."""

from datetime import UTC, datetime

from gateway.daemon.gather.axes import log_axis, nice_top, spread, twelve_months
from gateway.facts import Message
from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, chart, event, lows, show


def test_low_spells_that_come_closer_are_said_to_be_worse(house):
    """Ten days apart, then two: the last five against all before."""
    view = show(house, *lows(*range(120, 20, -10), *range(12, 0, -2)))
    between = chart(view, "Time between low spells", "Spring tank")
    assert between.worse and between.verdict.startswith("It runs low more often than it did. Usually ")
    assert not chart(view, "How long low spells last", "Spring tank").worse
    assert sum(int(row[1]) for row in between.table.rows) == 15, "each gap stands in the table once"


def test_low_spells_that_last_longer_are_said_to_be_worse(house):
    """An hour each, then a day each."""
    view = show(house, *lows(*range(100, 50, -10), lasted=HOUR), *lows(*range(50, 0, -10), lasted=DAY))
    lasting = chart(view, "How long low spells last", "Spring tank")
    assert lasting.worse and "last longer" in lasting.verdict


def test_steady_spells_are_not_called_better_or_worse(house):
    """The middle, the middle half and how many."""
    between = chart(show(house, *lows(*range(100, 0, -10))), "Time between low spells", "Spring tank")
    assert between.verdict == "Usually 10 days (9 seen)." and not between.worse


def test_refill_and_delivered_flow(house):
    """From 0.45 m to 1.6 m in 24 h; a high float that bounces is one fill; the figure is what stands between the floats, and the use."""
    view = show(
        house,
        event("low", NOW - 4 * DAY, tank=HOUSE_TANK),
        event("low-over", NOW - 3 * DAY, tank=HOUSE_TANK, lasted_s=86400.0),
        *[event("high", NOW - 2 * DAY + n * HOUR, tank=HOUSE_TANK) for n in (0, 2, 4)],
        *[event("high-over", NOW - 2 * DAY + n * HOUR, tank=HOUSE_TANK) for n in (1, 3)],
    )
    assert chart(view, "Refill time", "House <b>tank</b>").verdict == "Usually 24 h (1 seen)."
    litres = 3.14159 * 1000 * (1.6 - 0.45)
    assert chart(view, "Delivered flow", "House <b>tank</b>").verdict.startswith(f"{(litres + 480) / 1440:.1f} l/min")
    spring = view.trends[0]
    assert spring.charts == () and "low and a high float" in " ".join(spring.said)
    assert spring.said[-1] == "How long low spells last: no low spell in these twelve months.", (
        "nothing is drawn of nothing"
    )


def test_volts_and_sun_against_what_was_seen(house):
    """A battery that was low in June, where the sun is short, and well since: both charts and both tables say so."""
    june = datetime(2026, 6, 10, 2, 0, tzinfo=UTC)
    view = show(
        house,
        *[event("reading", june + n * DAY, controller="ridge", volts=11.8) for n in range(3)],
        *[event("reading", NOW - n * DAY, controller="ridge", volts=12.8) for n in range(30)],
        event("reading", NOW - HOUR, controller="ridge", volts=99.0),
    )
    volts, sun = chart(view, "Volts", "Ridge box"), chart(view, "Sun and use through the year", "Ridge box")
    assert "12.8 V" in volts.verdict and "steady" in volts.verdict and "On 3 days" in volts.verdict
    assert [row for row in volts.table.rows if row[0] == "Jun"] == [("Jun", "11.8 V", "11.8 V", "11.8 V", "3 of 3")]
    assert sun.worse and "Seen low in Jun, as it was worked out." in sun.verdict and "dull weeks" in sun.verdict
    june_row = sun.table.rows[5]
    assert june_row[0] == "June" and june_row[-2:] == ("11.8 V", "3 of 3") and sun.table.rows[6][-2] == "not read"
    assert view.trends[4].charts == () and "no volts" in view.trends[4].said[0]


def test_texts_cost_by_local_month(house):
    """What was handed over, at its price; 13:30 UTC on 31 October is November in Sydney."""

    def sent(tx):
        for at, state in ((datetime(2026, 10, 31, 13, 30, tzinfo=UTC), "sent"), (NOW, "delivered"), (NOW, "failed")):
            message = tx.put_message(Message(contact="wren", number="+61491570156", text="x", at=at, segments=3))
            tx.change_message(message.id, state=state, at=at)

    cost = chart(show(house, more=sent), "What texts cost")
    assert dict((row[0], row[1:]) for row in cost.table.rows)["Nov 2026"] == ("6", "0.72 AUD")
    assert cost.verdict.startswith("0.72 AUD in twelve months")


def test_years_stand_side_by_side_once_there_are_some(house):
    """Only with more than two years of history; sums of the store."""
    assert not [one for one in show(house, *lows(100)).trends[0].charts if one.id.endswith("years")]
    rows = chart(show(house, *lows(1100, 1090, 500, 300)), "Low spells year by year", "Spring tank").table.rows
    assert rows == (("2023", "2", "4 h"), ("2024", "0", ""), ("2025", "1", "2 h"), ("2026", "2", "4 h"))


def test_axes():
    """The middle half, round tops, and a logarithmic axis whose steps hold all that was seen."""
    assert (spread([]), spread([3.0])) == (None, spread([3.0, 3.0]))
    found = spread([1, 2, 3, 4, 5])
    assert found is not None and (found.low, found.middle, found.high) == (2, 3, 4)
    assert [nice_top(one) for one in (0, 0.9, 1.2, 7, 41)] == [1, 1, 1.5, 8, 50]
    for hours in ([0.01], [0.5, 400.0], [5.0], [100000.0]):
        axis = log_axis(hours)
        assert all(0 <= axis.share(one) <= 1 for one in hours) and len(axis.levels()) >= 2
        assert axis.share(axis.least_h) == 0 and axis.share(axis.most_h) == 1


def test_twelve_months_end_with_this_one(house):
    """Local months, this one whole."""
    times = twelve_months(house, NOW)
    assert times.names[0] == "Dec" and times.names[-1] == "Nov" and len(times.starts) == 12
    assert times.share(times.starts[0]) == 0 and times.share(times.end) == 1
    assert times.month_of(NOW) == 11
