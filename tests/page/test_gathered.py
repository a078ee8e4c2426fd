"""What the page shows of a known history: spells, days, trends, verdicts, who has a call-out, the other sites."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from gateway.callout import CallOut
from gateway.callout.kinds import Matter
from gateway.daemon.gather import lately, now, spells
from gateway.daemon.gather.axes import log_axis, nice_top, spread, twelve_months
from gateway.daemon.gather.record import event_view
from gateway.daemon.pages import gather
from gateway.facts import Event, Message
from gateway.page.vessel import APART, drawn, labels
from gateway.page.view import FloatView, VesselView
from gateway.settings.models import Tapered, UprightCylinder, VolumeTable
from gateway.storage import open_store
from tests.page import years

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
HOUSE_TANK = "house & <b>yard</b>"


def event(kind, at, tank=None, controller=None, text=None, input=None, **detail):
    """An event that was known at once."""
    return Event(
        kind=kind,
        at=at,
        heard_at=at,
        known_at=at,
        tank=tank,
        controller=controller,
        input=input,
        text=text,
        detail=detail,
    )


@pytest.fixture
def house(tmp_path):
    return years.household(tmp_path)


@pytest.fixture
def shown(house):
    """Events (and what else a test does in the transaction) → the page's values."""

    def show(*events, more=lambda tx: None, house=house):
        store = open_store(house.settings.store.url, house.settings.site.name)
        with store.write() as tx:
            for one in events:
                tx.keep_event(one)
            more(tx)
        with store.read() as reader:
            view = gather(reader, house, NOW)
        store.close()
        return view

    return show


def chart(view, title, of=None):
    """The chart of that title (of one tank or controller)."""
    return next(one for trend in view.trends for one in trend.charts if one.title == title and of in (None, trend.name))


def lows(*days_ago, lasted=2 * HOUR, tank="spring"):
    """A low spell on each of these days before now."""
    for ago in days_ago:
        yield event("low", NOW - ago * DAY, tank=tank, controller="creek", input="1")
        yield event(
            "low-over",
            NOW - ago * DAY + lasted,
            tank=tank,
            controller="creek",
            input="1",
            lasted_s=lasted.total_seconds(),
        )


# spells ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        ([("low", 5, {}), ("low-over", 3, {})], [("low", 5, 3)]),
        ([("low", 5, {})], [("low", 5, None)]),
        ([("low", 5, {}), ("low", 4, {}), ("low-over", 3, {})], [("low", 5, 3)]),
        ([("low-over", 3, {"lasted_s": 7200.0})], [("low", 5, 3)]),
        ([("low-over", 3, {"lasted_s": 7200.0, "first": True})], []),
        ([("gateway-stopped", 5, {}), ("gateway-started", 3, {})], [("off", 5, 3)]),
        ([("gateway-started", 3, {})], []),
        ([("modem-lost", 5, {}), ("modem-back", 4, {}), ("note", 2, {})], [("modem", 5, 4), ("note", 2, 2)]),
        ([("gateway-stopped", 5, {})], []),
    ],
)
def test_events_become_spells(events, expected):
    """An end without its beginning tells it by how long it lasted; what still lasts has no end; a stop for good is no outage."""
    found = spells.spells_of(event(kind, NOW - hours * HOUR, **detail) for kind, hours, detail in events)
    assert [(one.family, one.began, one.ended) for one in found] == [
        (family, NOW - began * HOUR, None if ended is None else NOW - ended * HOUR) for family, began, ended in expected
    ]


def test_a_cut_of_power_is_an_outage_from_when_it_surely_worked():
    """A start that says since when it was off."""
    since = NOW - 9 * HOUR
    (found,) = spells.spells_of([event("gateway-started", NOW, **{"from": since.isoformat()})])
    assert (found.family, found.began, found.ended) == ("off", since, NOW)


def test_spells_that_stand_close_are_drawn_as_one(shown):
    """A chattering float makes one bar that says how often."""
    many = [one for n in range(50) for one in lows(3 + n / 1440 * 4, lasted=timedelta(minutes=2))]
    lane = next(one for one in shown(*many).lanes if one.name == "Spring tank")
    assert len(lane.spells) == 1 and "50 times" in lane.spells[0].said


# the year ----------------------------------------------------------------------------------


def day_of(view, wanted):
    """One day of the calendar."""
    month = next(one for one in view.year.months if one.name == f"{wanted:%b} {wanted.year}")
    return month.days[wanted.day - 1]


def test_a_spell_marks_every_local_day_it_touches(shown):
    """From the evening into the night: two days, neither of them for six hours; a whole day is."""
    evening = datetime(2026, 10, 4, 11, 0, tzinfo=UTC)  # 22:00, on the day that the clocks went forward
    view = shown(
        event("low", evening, tank="spring"),
        event("low-over", evening + 4 * HOUR, tank="spring", lasted_s=14400.0),
        event("low", datetime(2026, 6, 1, 14, 0, tzinfo=UTC), tank="spring"),
        event("low-over", datetime(2026, 6, 2, 13, 0, tzinfo=UTC), tank="spring"),
        event("silent", evening, controller="creek"),
    )
    assert [day_of(view, date(2026, 10, day)).tone for day in (3, 4, 5)] == [None, "low", "low"]
    assert day_of(view, date(2026, 10, 4)).said == "Spring tank low; Creek box at the lower paddock gate silent"
    assert not day_of(view, date(2026, 10, 4)).long and day_of(view, date(2026, 6, 2)).long
    assert day_of(view, date(2026, 10, 6)).tone == "silent", "it is still silent"
    assert len(view.year.months) == 12 and view.year.months[-1].days[25:] == (None,) * 5, "days to come are empty"
    assert [one.blank for one in view.year.months if one.name == "Nov 2026"] == [6], "it began on a Sunday"


def test_the_weightiest_matter_marks_a_day_and_notes_stand_beside(shown):
    """A dry report outweighs all; a note only adds its mark."""
    view = shown(
        *lows(2),
        event("ran-dry", NOW - 2 * DAY, tank=HOUSE_TANK, text="DRY"),
        event("note", NOW - 2 * DAY, text="cleaned the intake"),
    )
    day = day_of(view, (NOW - 2 * DAY).date())
    assert (day.tone, day.noted) == ("dry", True) and "cleaned the intake" in day.said


def test_repeated_weekdays_are_said(shown):
    """Every Wednesday for two months."""
    view = shown(*[one for week in range(1, 9) for one in lows(7 * week)])
    assert "most often on Wed" in view.year.by_weekday.verdict and view.year.by_weekday.worse
    assert dict(view.year.by_weekday.table.rows)["Wed"] == "8"


# trends ------------------------------------------------------------------------------------


def test_low_spells_that_come_closer_are_said_to_be_worse(shown):
    """Ten days apart, then two: the last five against all before."""
    view = shown(*lows(*range(120, 20, -10), *range(12, 0, -2)))
    between = chart(view, "Time between low spells", "Spring tank")
    assert between.worse and between.verdict.startswith("It runs low more often than it did. Usually ")
    assert not chart(view, "How long low spells last", "Spring tank").worse
    assert sum(int(row[1]) for row in between.table.rows) == 15, "each gap stands in the table once"


def test_low_spells_that_last_longer_are_said_to_be_worse(shown):
    """An hour each, then a day each."""
    view = shown(*lows(*range(100, 50, -10), lasted=HOUR), *lows(*range(50, 0, -10), lasted=DAY))
    lasting = chart(view, "How long low spells last", "Spring tank")
    assert lasting.worse and "last longer" in lasting.verdict


def test_steady_spells_are_not_called_better_or_worse(shown):
    """The middle, the middle half and how many."""
    between = chart(shown(*lows(*range(100, 0, -10))), "Time between low spells", "Spring tank")
    assert between.verdict == "Usually 10 days (9 seen)." and not between.worse


def test_refill_and_delivered_flow(shown, house):
    """From 0.45 m to 1.6 m in 24 h; a high float that bounces is one fill; the figure is what stands between the floats, and the use."""
    view = shown(
        event("low", NOW - 4 * DAY, tank=HOUSE_TANK),
        event("low-over", NOW - 3 * DAY, tank=HOUSE_TANK, lasted_s=86400.0),
        *[event("high", NOW - 2 * DAY + n * HOUR, tank=HOUSE_TANK) for n in (0, 2, 4)],
        *[event("high-over", NOW - 2 * DAY + n * HOUR, tank=HOUSE_TANK) for n in (1, 3)],
    )
    assert chart(view, "Refill time", "House <b>tank</b>").verdict == "Usually 24 h (1 seen)."
    litres = 3.14159 * 1000 * (1.6 - 0.45)
    assert chart(view, "Delivered flow", "House <b>tank</b>").verdict.startswith(f"{(litres + 480) / 1440:.1f} l/min")
    assert "low and a high float" in next(one for one in view.trends if one.name == "Spring tank").said[-1]


def test_volts_and_sun_against_what_was_seen(shown):
    """A battery that was low in June, where the sun is short, and well since: both charts and both tables say so."""
    june = datetime(2026, 6, 10, 2, 0, tzinfo=UTC)
    view = shown(
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


def test_texts_cost_by_local_month(shown):
    """What was handed over, at its price; 13:30 UTC on 31 October is November in Sydney."""

    def sent(tx):
        for at, state in ((datetime(2026, 10, 31, 13, 30, tzinfo=UTC), "sent"), (NOW, "delivered"), (NOW, "failed")):
            message = tx.put_message(Message(contact="wren", number="+61491570156", text="x", at=at, segments=3))
            tx.change_message(message.id, state=state, at=at)

    cost = chart(shown(more=sent), "What texts cost")
    assert dict((row[0], row[1:]) for row in cost.table.rows)["Nov 2026"] == ("6", "0.72 AUD")
    assert cost.verdict.startswith("0.72 AUD in twelve months")


def test_years_stand_side_by_side_once_there_are_some(shown):
    """Only with more than two years of history; sums of the store."""
    assert not [one for one in shown(*lows(100)).trends[0].charts if one.id.endswith("years")]
    rows = chart(shown(*lows(1100, 1090, 500, 300)), "Low spells year by year", "Spring tank").table.rows
    assert rows == (("2023", "2", "4 h"), ("2024", "0", ""), ("2025", "1", "2 h"), ("2026", "2", "4 h"))


# now ---------------------------------------------------------------------------------------


def test_all_is_well_is_quiet(shown):
    """Heard and idle: one headline and nothing more."""

    def heard(tx):
        from gateway.facts import Text

        for controller in ("ridge", "creek"):
            tx.keep_text(
                Text(number="+61491570006", text="x", at=NOW - HOUR, heard_at=NOW - HOUR), "read", controller=controller
            )

    idle = [
        event("low-over", NOW - DAY, tank=tank, controller=controller, input=input, first=True)
        for tank, (controller, input) in years.LOW_FLOATS.items()
    ]
    view = shown(*idle, more=heard)
    assert (view.headline, view.matters, view.call_outs) == ("All is well", (), ())


def test_what_is_not_well_stands_first_and_links_to_its_place(shown):
    """A low tank with its dry report, a silent box without power, the gateway's own trouble; the call-out with names."""
    at = NOW - 3 * HOUR
    matters = (
        Matter(key="silence:creek", kind="silent", event=1),
        Matter(key=f"low:{HOUSE_TANK}", kind="low", event=2),
    )
    open_one = CallOut(
        state="open",
        matters=matters,
        subject="tanks",
        opened_at=at,
        turn=1,
        turn_at=at,
        told={"wren": at},
        reminded_at=at,
    )

    def more(tx):
        from gateway.facts import Text

        tx.keep_text(Text(number="+61491570006", text="x", at=at, heard_at=at), "read", controller="ridge")
        tx.put_call_out(None, opened_at=at, data=open_one.as_json())
        tx.put_call_out(
            None, opened_at=at, data=replace(open_one, state="taken", taken_by="wren", taken_at=NOW).as_json()
        )
        tx.set_mark("gateway:signal-weak", at.isoformat())

    view = shown(
        event("low", at, tank=HOUSE_TANK, controller="ridge", input="1"),
        event("ran-dry", NOW - HOUR, tank=HOUSE_TANK),
        event("power-lost", at, controller="creek"),
        more=more,
    )
    assert view.headline == "House <b>tank</b> is LOW, and 5 more matters"
    said = [(one.where, one.what) for one in view.matters]
    assert said[0] == ("House <b>tank</b>", "is LOW since 11:00.") and "ran DRY" in view.matters[0].more[0]
    assert ("Creek box at the lower paddock gate", "has no power since 11:00.") in said
    assert ("The gateway", "signal weak since 11:00.") in said
    ids = {one.id for stage in view.stages for one in stage} | {one.id for one in view.boxes}
    assert all(one.link in ids for one in view.matters if one.link)
    names = "Creek box at the lower paddock gate SILENT and House <b>tank</b> LOW"
    assert view.call_outs == (
        f"Open since 11:00: {names}; told Wren; nobody took it yet.",
        f"Open since 11:00: {names}; Wren sees to it since 14:00.",
    )


def test_the_supply_stands_in_the_order_of_fed_by(shown):
    """From the source to the house, whatever the file's order."""
    view = shown()
    assert [[one.name for one in stage] for stage in view.stages] == [
        ["Spring tank"],
        ["Hill tank"],
        ["House <b>tank</b>"],
    ]
    assert "2.2 l/min" in view.source and "480 l a day" in view.use


def test_without_a_forecast_the_floats_bound_the_water(house):
    """An idle low float is under water, an idle high one above: a band, and no likely level."""
    from gateway.daemon.gather.vessels import litres_said, water_of
    from gateway.flow.look import FloatLook, TankLook
    from gateway.tanks import FloatNow

    tank = house.tanks[HOUSE_TANK]

    def seen(low, high):
        states = {"low": low, "high": high}
        floats = tuple(
            FloatLook(placed=one, now=FloatNow(means=one.float.means, state=states[one.float.means]))
            for one in house.floats_of(tank.id)
        )
        return TankLook(tank=tank, state="ok", since=None, floats=floats)

    assert water_of(seen("idle", "idle"), None) == (pytest.approx(0.25), None, pytest.approx(1.6 / 1.8))
    assert water_of(seen("active", "idle"), None) == (0.0, None, pytest.approx(0.25))
    assert water_of(seen("idle", "active"), None) == (pytest.approx(1.6 / 1.8), None, 1.0)
    assert water_of(seen("unknown", "unknown"), None) is None
    assert litres_said(seen("idle", "active"), None) == "At least 5027 l of 5655 l."


def test_other_sites_of_the_store_have_a_line_each(shown, house):
    """Only where there are some; what is open there by the ids it has there."""
    assert shown().sites == ()
    other = open_store(house.settings.store.url, "Creek Flat")
    matter = Matter(key="low:trough", kind="low", event=1)
    call_out = CallOut(
        state="open", matters=(matter,), subject="tanks", opened_at=NOW, turn=1, turn_at=NOW, told={}, reminded_at=NOW
    )
    with other.write() as tx:
        tx.keep_event(event("low", NOW - DAY, tank="trough"))
        tx.put_call_out(None, opened_at=NOW, data=call_out.as_json())
    other.close()
    here, there = shown(*lows(3)).sites
    assert (here.name, here.here, here.open_matters, here.fortnight) == ("Quandong Ridge", True, (), "1 low spell")
    assert (there.name, there.here, there.open_matters, there.fortnight) == (
        "Creek Flat",
        False,
        ("trough LOW",),
        "1 low spell",
    )


def test_the_record_is_in_plain_words(house):
    """Every kind of event has words of its own; an over-long raw text is cut, and how much is said."""
    from typing import get_args

    from gateway.facts.events import EventKind

    for kind in get_args(EventKind):
        said = event_view(house, event(kind, NOW, tank="spring", text="{where} {0} <b>", lasted_s=7200.0), NOW).what
        assert "-" not in said.replace("{where} {0} <b>", "") and said[0].isupper(), (kind, said)
    over = event_view(house, event("low-over", NOW, tank="spring", lasted_s=7200.0), NOW)
    assert over.what == "Spring tank is no longer low after 2 h."
    assert event_view(house, event("unread", NOW, controller="ridge", text="x" * 1000), NOW).raw.endswith(
        "(600 more characters)"
    )


# drawing -----------------------------------------------------------------------------------


@pytest.mark.parametrize("ratio", [0.1, 0.8, 1.1, 1.5, 9.0])
def test_vessels_keep_their_proportions_within_the_field(ratio):
    """Width over height as they are, unless one of them would be too small to read."""
    box = drawn(VesselView(kind="box", ratio=ratio))
    assert 0 <= box.left < box.right <= 165 and box.top >= 0
    if 0.5 < ratio < 2:
        assert (box.right - box.left) / (box.y(0) - box.y(1)) == pytest.approx(ratio, rel=0.02)


def test_shapes_have_sides_of_their_own():
    """A tapered tank leans; a table is as wide at each level as a round tank of its volumes; a lying one is a circle."""
    from gateway.daemon.gather.vessels import vessel_of

    tapered = vessel_of(Tapered(kind="tapered", bottom_diameter_m=1.0, top_diameter_m=2.0, height_m=1.0))
    assert tapered.sides == ((0.0, 0.5), (1.0, 1.0)) and tapered.ratio == 2.0
    table = vessel_of(VolumeTable(kind="table", points=((0, 0), (0.5, 250), (1.0, 1250))))
    assert [round(half, 2) for _, half in table.sides] == [0.5, 0.5, 1.0, 1.0]
    upright = vessel_of(UprightCylinder(kind="upright-cylinder", diameter_m=2.0, height_m=4.0))
    assert upright.ratio == 0.5
    lying = drawn(VesselView(kind="lying-cylinder"))
    assert lying.right - lying.left == pytest.approx(lying.y(0) - lying.y(1))


def test_labels_of_floats_keep_apart():
    """Two floats at nearly one level have labels that can both be read."""
    two = tuple(FloatView(means="low", level=level, said="", state="idle") for level in (0.5, 0.51))
    placed = labels(two, drawn(VesselView(kind="box")))
    assert placed[1][2] - placed[0][2] >= APART


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
    assert times.month_of(NOW) == 11 and lately.FORTNIGHT == 14 * DAY and now.headline is not None
