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
