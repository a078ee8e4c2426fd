"""What is known → where it is drawn: bars, lines and dots to the third decimal, worked out by hand beside each."""

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from gateway.facts import Message, input_key
from gateway.page.chart_scales import HourScale, amount_levels, hour_scale, round_top, twelve_months
from gateway.page.level_chart import level_chart
from gateway.page.tank_charts import low_charts, refill_charts, years_chart, years_of
from gateway.power.monthly_outlook import power_outlook
from gateway.settings.water_tables import Gauge, Source
from gateway.site import PlacedGauge
from gateway.status.episodes import Episode
from gateway.storage import open_store
from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, chart, event, lows, marks, show


@pytest.fixture
def reader(english):
    """Its empty record."""
    store = open_store(english.settings.store.url, english.settings.site.name, create=True)
    with store.read() as opened:
        yield opened
    store.close()


YEAR_BEGAN = datetime(2025, 11, 30, 13, tzinfo=UTC)
"""1 December in Sydney; the twelve months of the charts are 365 days."""


def read(day, volts):
    """A voltage at noon of so many days after that."""
    return event("reading", YEAR_BEGAN + (day + 0.5) * DAY, controller="ridge", volts=volts)


def test_volts_week_by_week(site):
    """Weeks from the first day on. From 12 V to 13 V, and 0.08 of a volt and a half more on each side: 11.88 to 13.12."""
    told = [read(0, 12.4), read(0, 13.0), read(1, 12.2), read(8, 12.0), read(14, 12.6), read(14, 5.0), read(15, 30.0)]
    volts = chart(show(site, *told), "Volts", "Ridge box")
    assert marks(volts, "bar", "water") == [(0.0, 0.013, 0.258, 0.903), (0.038, 0.013, 0.581, 0.581)]
    assert marks(volts, "bar", "low") == [(0.022, 0.013, 0.097, 0.097)]
    assert marks(volts, "line") == [(0, 1, 0, 0.097)]
    assert [(label, round(at, 3)) for label, at in volts.levels] == [
        ("12 V", 0.097),
        ("12.3 V", 0.339),
        ("13.1 V", 1.0),
    ]
    assert volts.table.rows == (("Dec", "12 V", "12.3 V", "13 V", "1 / 4"),)


@pytest.mark.parametrize("middle", [12.05, 13.0], ids=["low", "high"])
def test_a_label_stands_only_where_it_has_room(site, middle):
    """The middle of a chart is named unless that would run into the limit or the top."""
    told = [read(day, volts) for day in (0, 7, 14) for volts in (middle, 13.0)]
    assert [label for label, _ in chart(show(site, *told), "Volts", "Ridge box").levels] == ["12 V", "13.1 V"]


def test_charge_and_use_month_by_month(site):
    """Six tenths of a month wide, the use across nine tenths of it; coloured where the sun does not cover it."""
    box = site.settings.controllers[0]
    outlook = power_outlook(box.id, box.power, site.settings.site.latitude)
    sun = chart(show(site), "Sun and use through the year", "Ridge box")
    most = max(max(month.charge.value, month.use.value) for month in outlook.months)
    top, places = (
        round_top(most),
        [(at, month.charge.value, month.use.value) for at, month in enumerate(outlook.months)],
    )
    assert [mark[:2] for mark in marks(sun, "bar")] == [(round((at + 0.2) / 12, 3), 0.05) for at in range(12)]
    assert [mark[3] for mark in marks(sun, "bar")] == [round(charge / top, 3) for _, charge, _ in places]
    assert marks(sun, "line") == [
        (round((at + 0.05) / 12, 3), 0.075, 0.0, round(use / top, 3)) for at, _, use in places
    ]
    short = [round((at + 0.2) / 12, 3) for at, charge, use in places if charge < use]
    assert 0 < len(short) < 12 and [mark[0] for mark in marks(sun, "bar", "low")] == short
    assert [(name, round(at, 3)) for name, at in sun.times[:2]] == [("Jan", 0.042), ("Mar", 0.208)]


@pytest.fixture
def gauged(english):
    """(the household with a gauge in its house tank, the gauge)."""
    gauge = Gauge(controller="ridge", input="L1", low_m=0.45)
    tank = english.tanks[HOUSE_TANK].model_copy(update={"gauges": (gauge,)})
    return replace(english, tanks={**english.tanks, HOUSE_TANK: tank}), PlacedGauge(tank=tank, gauge=gauge)


def levels_of(gauged, heights, switched=()):
    """The chart of (days ago, metres)."""
    site, placed = gauged
    store = open_store(site.settings.store.url, site.settings.site.name, create=True)
    with store.write() as tx:
        for ago, metres in heights:
            at = NOW - ago * DAY
            tx.keep_event(
                event("level", at, tank=HOUSE_TANK, controller="ridge", input=input_key("L1"), level_m=metres)
            )
    with store.read() as reader:
        drawn = level_chart(reader, site, placed, switched, NOW)
    store.close()
    return drawn


def test_a_level_is_a_line_that_breaks_where_nothing_was_read(gauged):
    """Of 1.8 m over thirty days; over more than two days no line is drawn; the floats hang at 0.45 m and 1.6 m."""
    low = event("low", NOW - 15 * DAY, tank=HOUSE_TANK, controller="ridge", input="1")
    high = event("high", NOW - 3 * DAY, tank=HOUSE_TANK, controller="ridge", input="2")
    others = [
        event("low", NOW - 31 * DAY, tank=HOUSE_TANK, controller="ridge", input="1"),
        event("low", NOW, tank="hill", controller="ridge", input="3"),
    ]
    drawn = levels_of(gauged, [(30, 0.9), (29, 1.8), (27, 0.45), (24, 0.9), (21, 0.9)], [low, high, *others])
    assert marks(drawn, "slope") == [(0.0, 0.033, 0.5, 1.0), (0.033, 0.067, 1.0, 0.25)]
    assert marks(drawn, "line", "limit") == [(0, 1, 0, 0.25)]
    assert marks(drawn, "dot", "low") == [(0.5, 0, 0, 0.25)] and marks(drawn, "dot", "water") == [(0.9, 0, 0, 0.889)]
    assert drawn.levels == (("0", 0.0), ("0.9", 0.5), ("1.8 m", 1.0))
    # 26 October is local; its midnight is 14 hours before the time of day it is now
    assert [(day, round(at, 3)) for day, at in drawn.times][:2] == [("31 Oct", 0.147), ("5 Nov", 0.314)]
    assert drawn.table.rows[:2] == (("26 Oct", "1", "0.9 m", "0.9 m"), ("27 Oct", "1", "1.8 m", "1.8 m"))


@pytest.mark.parametrize(("count", "lines"), [(300, 299), (301, 150), (2, 1)])
def test_of_a_gauge_that_tells_each_minute_not_all_is_drawn(gauged, count, lines):
    """Every second where there are more than three hundred; of fewer than three it is said that there are too few."""
    drawn = levels_of(gauged, [(number / 1440, 0.9) for number in range(count, 0, -1)])
    assert len(marks(drawn, "slope")) == lines and bool(drawn.lacking) is (count < 3)


def test_scales_of_hours():
    """Logarithmic: ten stands midway from one to a hundred; at most five labels."""
    assert HourScale(least_h=1, most_h=100).share(10) == pytest.approx(0.5)
    assert (HourScale(least_h=1, most_h=100).share(0.1), HourScale(least_h=1, most_h=100).share(1000)) == (0, 1)
    assert [label for label, _ in HourScale(least_h=1, most_h=72).levels(str)] == ["1.0", "3.0", "10.0", "24.0", "72.0"]
    assert [label for label, _ in HourScale(least_h=1, most_h=240).levels(str)] == ["1.0", "10.0", "72.0"]
    ends = {
        (): (1, 24),
        (5.0,): (3, 10),
        (0.01,): (1 / 12, 1 / 3),
        (3.0,): (3, 10),
        (99999.0,): (2160, 8760),
        (24.0, 25.0): (24, 72),
    }
    for hours, (least, most) in ends.items():
        assert (hour_scale(hours).least_h, hour_scale(hours).most_h) == (least, most), hours
    assert amount_levels(3.0, "Ah") == (("0", 0.0), ("1.5", 0.5), ("3 Ah", 1.0))


def spells(*lasted_h):
    """A low spell of so many hours each fiftieth day."""
    days_ago = range(50 * len(lasted_h), 0, -50)
    began = [NOW - ago * DAY for ago in days_ago]
    return [
        Episode(where="t:spring", family="low", began=at, ended=at + hours * HOUR)
        for at, hours in zip(began, lasted_h, strict=True)
    ]


def test_the_middle_half_is_a_band(english):
    """From four figures on. Of 1, 3, 10, 24 and 72 h on a scale from 1 to 72 h: the quarters at 3 and 24 h."""
    months = twelve_months(english, NOW)
    between, lasting = low_charts(english, english.tanks["spring"], spells(1, 3, 10, 24, 72), months, NOW)
    assert marks(lasting, "bar", "band") == [(0, 1, 0.257, 0.743)] and marks(lasting, "line") == [(0, 1, 0, 0.538)]
    # 250 days before now are 109 days and 14 hours after the year began
    assert marks(lasting, "dot")[0] == (0.300, 0, 0, 0.0) and marks(lasting, "dot")[1] == (0.437, 0, 0, 0.257)
    assert len(marks(between, "bar")) == 1 and len(marks(between, "dot")) == 4
    assert marks(low_charts(english, english.tanks["spring"], spells(1, 3, 10, 24), months, NOW)[0], "bar") == []


def fills(*hours):
    """Each twentieth day the house tank leaves its low float and reaches its high one so many hours later."""
    for number, lasted in enumerate(hours):
        left = NOW - (len(hours) - number) * 20 * DAY
        yield event("low-over", left, tank=HOUSE_TANK)
        yield event("high", left + lasted * HOUR, tank=HOUSE_TANK)


@pytest.mark.parametrize(
    ("hours", "worse", "top", "dots"),
    [
        # 3613 l stand between the floats, and 480 l a day are used meanwhile: 2.84, 5.35 and 2.01 l/min; the ram gives 2.16 by its figures
        ((24, 24, 24), False, 3, [0.947] * 3),
        ((12,) * 5 + (36,) * 5, True, 6, [0.892] * 5 + [0.334] * 5),
        ((36,) * 5 + (12,) * 5, False, 6, [0.334] * 5 + [0.892] * 5),
    ],
    ids=["steady", "less", "more"],
)
def test_what_was_delivered(english, hours, worse, top, dots):
    """Each fill by itself against the figures of the source; less than it did is for the worse."""
    months = twelve_months(english, NOW)
    filled, flow = refill_charts(english, english.tanks[HOUSE_TANK], list(fills(*hours)), 480.0, months)
    assert [mark[3] for mark in marks(flow, "dot")] == dots and flow.worse is worse is filled.worse
    assert marks(flow, "line", "limit") == [(0, 1, 0, round(2.16 / top, 3))] and flow.legend[0][0] == "limit"
    assert flow.levels[-1] == (f"{top} l/min", 1.0)
    usual = {
        3: "Usually 2.8 l/min (3 seen).",
        10: "Usually 3.7 l/min, half of them between 2 l/min and 5.4 l/min (10 seen).",
    }
    assert f"{usual[len(hours)]} By the figures of the source 2.2 l/min" in flow.verdict
    sourceless = replace(english, settings=english.settings.model_copy(update={"source": Source()}))
    _, alone = refill_charts(sourceless, english.tanks[HOUSE_TANK], list(fills(*hours)), 480.0, months)
    assert marks(alone, "line", "limit") == [] == list(alone.legend)


def test_years_side_by_side(site):
    """A bar of six tenths of its year each; of many years every second has its label, this one always."""
    view = show(site, *lows(1100, 1090, 500, 300))
    years = chart(view, "Low spells year by year", "Spring tank")
    assert marks(years, "bar") == [(0.05, 0.15, 0, 1), (0.55, 0.15, 0, 0.5), (0.8, 0.15, 0, 0.5)]
    assert years.times == (("2023", 0.125), ("2024", 0.375), ("2025", 0.625), ("2026", 0.875))


@pytest.mark.parametrize(("days", "years"), [(731, ()), (732, (2024, 2025, 2026)), (10_000, tuple(range(2007, 2027)))])
def test_which_years(english, days, years):
    """From two years on, at most twenty."""
    assert years_of(SimpleNamespace(first_event_at=lambda: NOW - days * DAY), english, NOW) == years


def test_every_second_year_has_its_label(english, reader):
    """Counted from this one back."""
    drawn = years_chart(reader, english, english.tanks["spring"], tuple(range(2014, 2027)))
    assert [year for year, _ in drawn.times] == ["2014", "2016", "2018", "2020", "2022", "2024", "2026"]
    assert drawn.lacking and drawn.times[-1][1] == pytest.approx(12.5 / 13)


def test_what_texts_cost_month_by_month(site):
    """Six tenths of a month from a fifth of it on: October begins 304 days and an hour after the year, November 335."""

    def sent(tx):
        for at in (datetime(2026, 10, 5, tzinfo=UTC), NOW, NOW):
            message = tx.put_message(Message(contact="wren", number="+61491570156", text="x", at=at, segments=3))
            tx.change_message(message.id, state="sent", at=at)

    cost = chart(show(site, more=sent), "What texts cost")
    assert marks(cost, "bar") == [(0.85, 0.05, 0, 0.45), (0.934, 0.05, 0, 0.9)]  # 0.36 and 0.72 of 0.80 AUD
