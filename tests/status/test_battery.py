"""What is said of a battery: how it moves, and when it is low as it goes."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.figures import Figure
from gateway.power.voltage_trend import BatteryTrend
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.battery import BatteryNow, battery_now, battery_said
from tests.handlers.days import Days
from tests.household import write_config

NOW = datetime(2027, 3, 5, 1, 0, tzinfo=UTC)
DAY = timedelta(days=1)
BATTERY = """
  [[controllers.rules]]
  text = "COLD {celsius} C"
  means = "reading"
  scope = "anywhere"
  [controllers.power]
  battery = { capacity_ah = 18 }
  load = { standby_ma = 30 }
"""


@pytest.mark.parametrize(
    ("v_day", "low_on", "ends"),
    [
        (None, None, "; too few days to see how it goes."),
        (0.004, None, "; steady."),
        (0.02, None, "; its lowest of each day rises 0.02 V a day."),
        (-0.05, NOW + 6 * DAY, "falls 0.05 V a day. As it goes it reaches its low limit of 11.8 V about 11 March."),
        (-0.05, NOW, "falls 0.05 V a day. It is at its low limit of 11.8 V."),
    ],
    ids=["new", "steady", "rises", "falls", "is low"],
)
def test_how_a_battery_goes(tmp_path, v_day, low_on, ends):
    """The day is said only while it is to come."""
    site = compile_site(load(str(write_config(tmp_path))).settings)
    slope = Figure(value=v_day or 0.0, unit="V/day", inputs={}, source="a test")
    trend = None if v_day is None else BatteryTrend(slope=slope, low_on=low_on)
    battery = BatteryNow(volts=12.1, at=NOW, percent=None, limit=11.8, trend=trend)
    said = battery_said(site, battery, NOW)
    assert said.startswith("12.1 V ") and said.endswith(ends)


@pytest.mark.parametrize(
    ("before", "percent"),
    [
        ({}, 50),
        ({10: -5}, 55),
        ({11: -5}, 50),
        ({8: -5, 3: 5}, 53.3),
        ({-10: -5}, 55),
        ({-11: -5}, 50),
    ],
    ids=[
        "none read",
        "ten minutes before",
        "too long before",
        "the later of two",
        "ten minutes after",
        "too long after",
    ],
)
def test_a_cold_battery_holds_more_than_its_voltage_says(tmp_path, before, percent):
    """12.36 V is half full at 25 °C; at -5 °C that is 12.396 V and 55 %, at 5 °C 12.384 V and 53.3 %: by a temperature of the same occasion."""
    days = Days(tmp_path, controller=BATTERY)
    came = [(NOW - timedelta(minutes=minutes), f"COLD {celsius} C") for minutes, celsius in before.items()]
    for at, text in sorted([*came, (NOW, "STATION WELL SUPPLY 12.36 V")]):
        days.comes(at, text)
    with days.store.read() as reader:
        battery = battery_now(reader, days.site, days.site.controllers["ridge"], NOW + timedelta(hours=1))
    days.store.close()
    assert battery is not None and battery.percent == pytest.approx(percent, abs=0.05)
