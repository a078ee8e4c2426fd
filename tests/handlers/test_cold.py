"""Frost is told once a night before it reaches pipe or battery, by the published rows; a voltage that is too high is told too."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.cold import tell_cold_season
from tests.handlers.days import Days
from tests.household import WREN

EVENING = datetime(2026, 7, 6, 9, 0, tzinfo=UTC)
"""19:00 at home."""
H, DAY = timedelta(hours=1), timedelta(days=1)
RULE = """
  [[controllers.rules]]
  text = "BOX {celsius} C *"
  means = "reading"
  of = "box"
  [[controllers.rules]]
  text = "TROUGH {celsius} C"
  means = "reading"
  of = "water"
  [controllers.power]
  battery = { capacity_ah = 7, volts = 12, chemistry = "CHEMISTRY" }
  load = { standby_ma = 15 }
  monthly_celsius = [20, 20, 18, 14, 9, 6, 5, 7, 10, 14, 16, 19]
"""


def home(tmp_path, chemistry="lead-acid"):
    """The household with a box that has a thermometer."""
    return Days(tmp_path, controller=RULE.replace("CHEMISTRY", chemistry))


def told(days):
    """What Wren is told."""
    return [text for number, text in days.outbox() if number == WREN]


def test_frost_is_told_once_a_night(tmp_path):
    """From noon to noon, and before it freezes; a trough's cold is none of the pipes'."""
    days = home(tmp_path)
    days.comes(EVENING, "TROUGH 1 C")
    for hours, celsius in ((0, 8), (2, 2.5), (4, 0), (8, -2), (20, 9), (26, 1)):
        days.comes(EVENING + hours * H, f"BOX {celsius} C 1")
    assert [event.at for event in days.events("frost")] == [EVENING + 2 * H, EVENING + 26 * H]
    assert told(days)[0].startswith("Ridge box: 2.5 C at 21:00, near freezing. Pipes freeze at 0 C")
    days.store.close()


@pytest.mark.parametrize(
    ("volts", "celsius", "row"),
    [(12.7, -20, None), (12.0, -15, 1.16), (12.0, -13, None), (11.7, -4.5, 1.10), (11.4, -0.5, 1.05), (11.4, 1, None)],
)
def test_a_battery_near_its_row_is_told(tmp_path, volts, celsius, row):
    """Within three degrees of where the row of its voltage freezes; never by one between two rows."""
    days = home(tmp_path)
    days.comes(EVENING, f"SUPPLY {volts} V")
    days.comes(EVENING + H, f"BOX {celsius} C 1")
    assert [event.detail.get("gravity") for event in days.events("battery-frost")] == ([row] if row else [])
    if row:
        assert any("Never charge a frozen battery." in text for text in told(days))
    days.store.close()


def test_a_lithium_battery_must_not_be_charged_in_frost(tmp_path):
    """It does not freeze; other words."""
    days = home(tmp_path, "lifepo4")
    days.comes(EVENING, "BOX 1 C 1")
    assert any("below 0 C its battery must not be charged" in text for text in told(days))
    days.store.close()


def test_without_a_thermometer_the_season_is_told_once(tmp_path):
    """By the monthly means: June is 6 degrees; and not where a temperature is read."""
    days = home(tmp_path)
    for day in range(-60, 30, 5):
        days.at(EVENING + day * DAY, tell_cold_season)
    (season,) = days.events("frost-season")
    assert season.detail == {"month": 6, "celsius": 6}
    assert told(days)[0].startswith("Ridge box: nights may freeze from now on (June: 6 C on the average).")
    days.store.close()


def test_with_a_thermometer_it_is_not(tmp_path):
    """Then the nights themselves are told."""
    days = home(tmp_path)
    days.comes(EVENING - H, "BOX 12 C 1")
    days.at(EVENING, tell_cold_season)
    assert days.events("frost-season") == ()
    days.store.close()


@pytest.mark.parametrize(("chemistry", "volts"), [("lead-acid", 15.6), ("agm", 15.1), ("lifepo4", 14.9)])
def test_a_voltage_that_is_too_high_is_told_once_and_its_end(tmp_path, chemistry, volts):
    """What charging in the cold may reach is not; nor what cannot be."""
    days = home(tmp_path, chemistry)
    for hours, told_volts in enumerate((14.4, volts, volts, volts - 0.3, 60, 13.8)):
        days.comes(EVENING + hours * H, f"SUPPLY {told_volts} V")
        if hours == 1:
            assert any(text.startswith(f"Ridge box: voltage too HIGH, {volts:g} V at 20:00.") for text in told(days))
    kinds = [(event.kind, event.at) for event in days.events("battery-high", "battery-high-over")]
    assert kinds == [("battery-high", EVENING + H), ("battery-high-over", EVENING + 5 * H)]
    days.store.close()
