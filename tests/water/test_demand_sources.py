"""Where a figure for animals is from is said kind by kind."""

import pytest

from gateway.settings.water_tables import Animals, Demand
from gateway.water.demand import FARM_NOTES, demand_figure


@pytest.mark.parametrize(
    ("kinds", "sources"),
    [
        ((), []),
        (("sheep", "horse"), [FARM_NOTES]),
        (("heifer", "sheep"), ["cattle by temperature after NRC 1996", FARM_NOTES]),
        (("laying hen", "broiler"), ["Poultry CRC table"]),
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


def test_a_figure_of_the_households_own_has_no_other_source():
    """It is the configuration's."""
    demand = Demand(people=2, animals=(Animals(kind="goat", head=3, litres_per_head_day=6),))
    assert demand_figure(demand).source == "sum of the configuration's figures"
