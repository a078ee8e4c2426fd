"""The simulated household's water: nothing is made or lost, use is as the published figures say, and a seed gives the same days."""

import random
import statistics
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.settings.controller_tables import Panel
from gateway.settings.load import load_text
from gateway.settings.water_tables import Demand
from gateway.simulator.household.box import DERATING, PANEL_VOLTS, level_sun_kwh, sun_ah
from gateway.simulator.household.household import Household
from gateway.simulator.household.supply import Supply
from gateway.simulator.household.troubles import STORIES, planned
from gateway.simulator.household.use import DAY_CV, Use, hours_of, household_kind
from gateway.simulator.household.weather import Weather

START = datetime(2025, 1, 1, tzinfo=UTC)
CONFIGURATION = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
latitude = -35.2
[modem]
device = "simulated"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
ask = { text = "REPORT" }
[[controllers.rules]]
text = "LINE {input} {state} *"
means = "input"
active = ["MADE"]
idle = ["BROKE"]
[[controllers.rules]]
text = "CALM *"
means = "alive"
[[tanks]]
id = "spring"
name = "Spring tank"
shape = { kind = "litres", litres = 2000, height_m = 1.5 }
[[tanks.floats]]
controller = "ridge"
input = 2
level_m = 0.5
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "litres", litres = 4000, height_m = 1.8 }
fed_by = ["spring"]
[[tanks.floats]]
controller = "ridge"
input = 1
level_m = 0.6
[source]
pump = { kind = "steady", flow_l_min = 1.5 }
[demand]
people = 4
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
"""


@pytest.fixture
def settings():
    return load_text(CONFIGURATION, "gateway.toml").settings


def lived(settings, seed, days, *stories):
    """Every text that reaches the gateway, where nobody is ever told anything."""
    household = Household(settings, seed, START, days, stories)
    arrivals = []
    while (arrival := household.next_arrival(START + timedelta(days=days))) is not None:
        arrivals.append(arrival)
    return household, arrivals


@pytest.mark.parametrize(("people", "kind"), [(1, "one"), (2, "two"), (4, "family"), (9, "family")])
def test_hours_of_use_are_shares_of_the_published_mean(people, kind):
    """Source: household_hours.csv (end-use model pysimdeum 1.0.1, computed): 24 shares with mean 1, least between 2 and 5."""
    shares = hours_of(people)
    assert household_kind(people) == kind and len(shares) == 24
    assert statistics.fmean(shares) == pytest.approx(1.0)
    assert min(range(24), key=shares.__getitem__) in (2, 3, 4)


@pytest.mark.parametrize("people", [1, 2, 4])
def test_days_of_use_differ_as_the_published_coefficient_says(people):
    """Source: household_use.csv, day-to-day CV 0.45, 0.30, 0.28 (end-use model, computed); 4,000 weekdays, within a tenth."""
    use = Use(random.Random(1), Demand(people=people))
    days = []
    for number in range(4000):
        use.begin_day(date(2025, 1, 6) + timedelta(days=7 * number), Weather(warmth=0.0))
        days.append(sum(use.litres_an_hour(hour) for hour in range(24)))
    assert statistics.stdev(days) / statistics.fmean(days) == pytest.approx(DAY_CV[household_kind(people)], rel=0.1)
    assert statistics.fmean(days) == pytest.approx(use.mean_l_day, rel=0.03)


def test_no_water_comes_from_nowhere(settings):
    """In a month without a source the tanks only empty, by what is drawn, and never below nothing."""
    troubles = planned(random.Random(1), START, 30, ("pump-stops",))
    troubles[0].began = START
    supply = Supply(settings, ZoneInfo("Australia/Sydney"), 1, START)
    before = sum(vessel.litres for vessel in supply.vessels)
    for _ in range(30 * 288):
        supply.step(troubles)
        now = sum(vessel.litres for vessel in supply.vessels)
        assert now <= before + 1e-6 and all(vessel.litres >= 0 for vessel in supply.vessels)
        before = now
    assert supply.taps_are_dry


def test_tanks_hold_no_more_than_they_can(settings):
    """A season with a good source: each tank stays within its capacity."""
    supply = Supply(settings, ZoneInfo("Australia/Sydney"), 3, START)
    for _ in range(90 * 288):
        supply.step([])
        assert all(vessel.litres <= vessel.capacity_l + 1e-6 for vessel in supply.vessels)


def test_the_same_seed_gives_the_same_texts(settings):
    """To the letter and the second; another seed does not."""
    first, again, other = (lived(settings, seed, 60, "pump-stops")[1] for seed in (5, 5, 6))
    assert first == again and first != other and len(first) > 50


def test_a_stopped_source_empties_the_upper_tank_first_and_the_taps_last(settings):
    """The floats say so in that order, in the box's own dialect, and the truth knows when the taps ran dry."""
    household, arrivals = lived(settings, 2, 40, "pump-stops")
    low = [arrival for arrival in arrivals if arrival.text.startswith("LINE") and "MADE" in arrival.text]
    assert [arrival.text.split()[1] for arrival in low[:2]] == ["2", "1"]
    dry = household.truth.dry[0]
    assert low[1].sent_at < dry.began < START + timedelta(days=40)


def test_a_dead_box_says_nothing_until_somebody_comes(settings):
    """No text of it arrives that was sent while it was dead."""
    household, arrivals = lived(settings, 4, 40, "box-dies")
    (dead,) = household.truth.box_dead["ridge"]
    theirs = [arrival.sent_at for arrival in arrivals if arrival.number == "+61491570006"]
    assert dead.until is not None and dead.until - dead.began > timedelta(days=1)
    assert not [sent_at for sent_at in theirs if dead.began < sent_at < dead.until]
    assert [sent_at for sent_at in theirs if sent_at > dead.until], "somebody passes by within days, and it texts again"


def test_a_box_answers_what_it_is_asked(settings):
    """Its asking text brings a sign of life within minutes; another text brings nothing."""
    household = Household(settings, 1, START, 2, ())
    household.next_arrival(START + timedelta(hours=6))
    household.left("+61491570006", "REPORT", household.at)
    answer = household.next_arrival(START + timedelta(hours=7))
    assert answer is not None and answer.text.startswith("CALM")
    household.left("+61491570006", "HELLO", household.at)
    assert household.next_arrival(START + timedelta(hours=8)) is None


@pytest.mark.parametrize("story", sorted(STORIES))
def test_each_story_happens(story):
    """Whoever asks for it gets at least one such trouble within the time, however short."""
    troubles = planned(random.Random(9), START, 20, (story,))
    assert troubles and all(START < trouble.began < START + timedelta(days=20) for trouble in troubles)


def test_what_would_come_if_nobody_helped_changes_nothing(settings):
    """Asking for it leaves the household as it is: the rest of its days are the same."""
    asked, silent = (Household(settings, 2, START, 40, ("pump-stops",)) for _ in range(2))
    end = START + timedelta(days=40)
    for _ in range(10):
        asked.next_arrival(end)
        silent.next_arrival(end)
    asked.empty_if_nobody_helps("house")
    assert asked.next_arrival(end) == silent.next_arrival(end)


@pytest.mark.parametrize(
    ("litres", "source_l_h", "hours"), [(0.0, 0.0, (0, 0)), (100.0, 0.0, (1, 24)), (4000.0, 90.0, None)]
)
def test_when_a_tank_would_be_empty_if_nobody_helped(settings, litres, source_l_h, hours):
    """At once, within a day of four people's use, and not at all while more comes than goes."""
    household = Household(settings, 2, START, 40, ())
    household.supply.source_l_h = source_l_h
    for vessel in household.supply.vessels:
        vessel.litres = litres if vessel.tank.id == "house" else 0.0
    empty = household.empty_if_nobody_helps("house")
    assert (empty is None) is (hours is None)
    assert hours is None or timedelta(hours=hours[0]) <= empty - household.supply.at <= timedelta(hours=hours[1])


def test_two_tanks_that_feed_no_other_are_both_drawn_from(settings):
    """More or less by what they hold, a house of 4,000 l and a shed of 1,000 l, otherwise in each household; the last is the house's."""
    shed = settings.tanks[1].model_copy(
        update={
            "id": "shed",
            "name": "Shed tank",
            "shape": settings.tanks[1].shape.model_copy(update={"litres": 1000.0}),
            "floats": (),
        }
    )
    tanks = (settings.tanks[0], shed, settings.tanks[1])
    drawn = set()
    for seed in (1, 2):
        supply = Supply(settings.model_copy(update={"tanks": tanks}), ZoneInfo("Australia/Sydney"), seed, START)
        spring, small, house = supply.vessels
        spring.litres = 0.0
        supply.source_l_h = 0.0
        before = small.litres, house.litres
        for _ in range(36):
            supply.step(())
            spring.litres = 0.0
        gone = before[0] - small.litres, before[1] - house.litres
        assert gone[0] > 1 and 1.4 * gone[0] < gone[1] < 12 * gone[0]
        drawn.add(round(gone[1] / gone[0], 3))
        assert supply.vessels[supply.tap].tank.id == "house" and not supply.taps_are_dry
    assert len(drawn) == 2


def test_the_sun_of_a_day_on_a_panel():
    """On the level the beam and the sky add up to what comes; a horizon at 30 degrees takes half."""
    noon, flat = datetime(2026, 12, 21, 2, 0, tzinfo=UTC), Panel(watts=20, tilt_deg=0)
    came = sun_ah(flat, -35.2, noon, 0.6)
    assert came == pytest.approx(level_sun_kwh(-35.2, noon) * 0.6 * 20 / PANEL_VOLTS * DERATING)
    assert sun_ah(Panel(watts=20, tilt_deg=0, horizon_deg=30), -35.2, noon, 0.6) == pytest.approx(came / 2)
    june = noon.replace(month=6)
    assert sun_ah(Panel(watts=20, tilt_deg=45), -35.2, june, 0.6) > 1.2 * sun_ah(flat, -35.2, june, 0.6)
