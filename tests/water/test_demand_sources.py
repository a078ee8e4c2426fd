"""Where a figure for animals is from is said kind by kind, and those that depend on warmth follow the months."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from gateway.settings.load import load_text
from gateway.settings.water_tables import Animals, Demand
from gateway.water.demand import FARM_NOTES, MILD, demand_figure, demand_in_month, demand_l_day
from tests.water.learn_anew import learn
from tests.water.test_balance import CONFIGURATION, Happened

GALLON = 3.785411784
HERD = 'animals = [ { kind = "dry cow", head = 10 } ]'
POWER = """
[controllers.power]
battery = { capacity_ah = 18, volts = 12, chemistry = "lead-acid" }
panel = { watts = 20, tilt_deg = 50, facing_deg = 0 }
load = { standby_ma = 30 }
monthly_celsius = [32.2, 30, 28, 26.7, 20, 15, 10, 12, 16, 20, 25, 30]
[[tanks]]
id = "spring"
"""


@pytest.mark.parametrize(
    ("kinds", "sources"),
    [
        ((), []),
        (("sheep", "horse"), [FARM_NOTES]),
        (("heifer", "sheep"), ["cattle by temperature after NRC 1996", FARM_NOTES, MILD]),
        (("laying hen", "broiler"), ["Poultry CRC table", MILD]),
        (("goat",), ["goats from extension figures (from memory)"]),
        (
            ("lactating sow", "lactating ewe"),
            ["pigs after swine.extension.org and a Plymouth thesis", "ewes after NRC 2007"],
        ),
    ],
)
def test_the_source_of_each_kind(kinds, sources):
    """Once each, in the file's order."""
    demand = Demand(people=2, animals=tuple(Animals(kind=kind, head=3) for kind in kinds))
    assert demand_figure(demand).source.split("; ") == ["sum of the configuration's figures", *sources]


def test_where_it_is_said_how_warm_it_is_nothing_is_said_of_mild_weather():
    """The figure is of that warmth."""
    demand = Demand(animals=(Animals(kind="heifer", head=3),), warm_celsius=30)
    assert "mild" not in demand_figure(demand).source


def test_a_figure_of_the_households_own_has_no_other_source():
    """It is the configuration's."""
    demand = Demand(people=2, animals=(Animals(kind="goat", head=3, litres_per_head_day=6),))
    assert demand_figure(demand).source == "sum of the configuration's figures"


def household(herd, power=POWER):
    """Two tanks of a household, and what else drinks."""
    text = CONFIGURATION.replace('[[tanks]]\nid = "spring"\n', power.lstrip(), 1)
    return load_text(f"{text}\n{herd}\n", "gateway.toml").settings


@pytest.mark.parametrize(
    ("herd", "january", "july"),
    [
        (HERD, 176, 108),  # dry cows, gallons a day for ten at 90 and at 70 °F: livestock_water.csv after NRC 1996
        (f"{HERD}\nwarm_celsius = 26.7", 124, 124),
        (HERD.replace("head = 10", "head = 10, litres_per_head_day = 40"), 400 / GALLON, 400 / GALLON),
        ('animals = [ { kind = "sheep", head = 100 } ]', 400 / GALLON, 400 / GALLON),
        ("", 0, 0),
    ],
)
def test_what_animals_drink_follows_the_months(herd, january, july):
    """By the twelve temperatures of a box's power, where the published figure depends on warmth and nobody gave another."""
    settings = household(herd)
    people = settings.demand.people * settings.demand.litres_per_person_day
    drunk = [demand_l_day(demand_in_month(settings, month)) - people for month in (1, 7)]
    assert drunk == pytest.approx([january * GALLON, july * GALLON], rel=1e-3)


def test_where_no_temperatures_are_configured_every_month_is_mild():
    """70 °F, the published table's lowest."""
    settings = household(HERD, power='[[tanks]]\nid = "spring"\n')
    assert demand_in_month(settings, 1) is settings.demand


def test_what_the_past_teaches_is_held_against_the_month_it_was_seen_in():
    """A warm month's use is not learnt as a household's that draws more, and then counted a second time; the month is the household's own."""
    settings, sydney = household(HERD), ZoneInfo("Australia/Sydney")
    years_end = datetime(2026, 12, 31, 20, 0, tzinfo=UTC)

    def figure(at):
        return learn([Happened("low", "house", at)], settings, sydney).figure_l_day

    assert figure(years_end) == demand_l_day(demand_in_month(settings, 1))
    assert figure(datetime(2026, 7, 15, tzinfo=UTC)) == demand_l_day(demand_in_month(settings, 7))
    assert min(map(figure, (years_end, years_end.replace(day=1)))) > learn([], settings, sydney).figure_l_day
