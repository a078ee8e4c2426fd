"""The gauges of a household that is lived through: each hour a text of its box, in its own dialect, of the water that is there."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.settings.load import load
from gateway.simulator.household.household import Household
from gateway.site import compile_site
from gateway.water.gauge_heights import height_of
from gateway.water.volumes import level_m
from tests.household import write_config

START = datetime(2026, 7, 5, 14, 0, tzinfo=UTC)
RULE = '\n  [[controllers.rules]]\n  text = "GAUGE {input} {level} *"\n  means = "level"\n'
GAUGE = """
  [[tanks.gauges]]
  controller = "ridge"
  input = "L1"
  reads = "READS"
  low_m = 0.45
"""


@pytest.mark.parametrize(
    "reads", ["percent", "m", "cm", "mA", "litres", 'cm"\n  points = [[20, 1.8], [200, 0]]\n  # "']
)
def test_a_gauge_tells_each_hour_what_stands_in_its_tank(tmp_path, reads):
    """In whatever it reads, also one that measures down from the lid; what its own rules read back is the height that is there."""
    file = write_config(tmp_path, controller=RULE)
    text = file.read_text("utf-8")
    file.write_text(text.replace("[demand]", f"{GAUGE.replace('READS', reads)}[demand]"), "utf-8")
    site = compile_site(load(str(file)).settings)
    household = Household(site.settings, 1, START, 2, ())
    until, heights = START + timedelta(days=2), 0
    (gauge,) = site.gauges_of("house")
    while (arrival := household.next_arrival(until)) is not None:
        for reading in site.books["ridge"].read(arrival.text).readings:
            if reading.means == "level" and arrival.at - arrival.sent_at < timedelta(minutes=2):
                vessel = next(vessel for vessel in household.supply.vessels if vessel.tank.id == "house")
                there = level_m(gauge.tank.shape, vessel.litres)
                told = height_of(gauge.gauge, gauge.tank.shape, reading.numbers["level"])
                assert told == pytest.approx(there, abs=0.05)
                heights += 1
    assert heights >= 40


def test_a_tank_that_only_a_gauge_watches_is_low_and_over_in_truth(tmp_path):
    """Below the gauge's own limit, until it is back by the band; and who knows of it saves water until then."""
    file = write_config(tmp_path, controller=RULE)
    text = file.read_text("utf-8").replace("[demand]", f"{GAUGE.replace('READS', 'm')}[demand]")
    file.write_text(text, "utf-8")
    household = Household(compile_site(load(str(file)).settings).settings, 1, START, 9, ())
    vessel = household.supply.vessels[household.supply.tap]
    household.supply.source_l_h = 0.0
    for litres, low in ((1450.0, False), (1400.0, True), (1500.0, True), (1700.0, False)):
        household.supply.vessels[0].litres, vessel.litres = 0.0, litres
        household.next_arrival(household.at + timedelta(minutes=6))
        spells = household.truth.low[("house", "gauge")]
        assert (bool(spells) and spells[-1].until is None) is low, litres
        household.left("+61491570156", "House tank is LOW.", household.at)
        assert household.supply.careful is low
