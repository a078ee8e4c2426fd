"""What cannot be of a battery, a panel or a month is refused by `check`, with its line and what would be right; nothing is guessed."""

import pytest

from gateway.__main__ import main
from tests.household import write_config

GOOD = """[controllers.power]
battery = { capacity_ah = 18, volts = 12, chemistry = "lead-acid" }
panel = { watts = 20, tilt_deg = 50 }
load = { standby_ma = 30 }
monthly_kwh_m2_day = [6, 5, 5, 4, 3, 2, 2, 3, 4, 5, 6, 6]
monthly_celsius = [21, 21, 18, 14, 10, 7, 6, 7, 10, 13, 16, 19]
"""
YEAR = "[6, 5, 5, 4, 3, 2, 2, 3, 4, 5, 6, 6]"


@pytest.mark.parametrize(
    ("good", "bad", "key", "says"),
    [
        (YEAR, "[6, 5, 5, 4, 3, 2, 2, 3, 4, 5, 6]", "monthly_kwh_m2_day", ("11 figures", "twelve")),
        (YEAR, "[-1, 5, 5, 4, 3, 2, 2, 3, 4, 5, 6, 6]", "monthly_kwh_m2_day", ("negative",)),
        ("[21, 21", "[211, 21", "monthly_celsius", ("between -60 and 60",)),
        ("tilt_deg = 50", "tilt_deg = 300", "tilt_deg", ("300", "at most 90")),
        ("tilt_deg = 50", 'tilt_deg = "steep"', "tilt_deg", ("steep", "a number")),
        ('"lead-acid"', '"led-acid"', "chemistry", ("led-acid", 'did you mean "lead-acid"')),
        ('"lead-acid"', '"nickel"', "chemistry", ("nickel", "lead-acid, agm, gel, lifepo4")),
        ('"lead-acid"', '"agm", low_volts = 3', "low_volts", ("never shows 3 V",)),
        ("capacity_ah = 18", "capacity_ah = 0", "capacity_ah", ("more than 0",)),
        ("standby_ma = 30", "standby_ma = -1", "standby_ma", ("more than 0",)),
        ("watts = 20, ", "watt = 20, ", "watt", ()),
    ],
)
def test_refused_with_line_and_reason(tmp_path, capsys, good, bad, key, says):
    """Eleven months, a tilt of 300°, an unknown chemistry and their like."""
    assert good in GOOD
    file = write_config(tmp_path, controller=GOOD.replace(good, bad))
    assert main(["check", "--config", str(file)]) == 1
    said = [line for line in capsys.readouterr().err.splitlines() if ": note:" not in line]
    wrong = next(line for line in said if key in line)
    number = int(wrong.split(":")[1])
    assert bad.split(",")[0].strip("[") in file.read_text().splitlines()[number - 1]
    assert all(say in wrong for say in says), wrong


def test_the_good_one_holds(tmp_path):
    """The table the others are made from."""
    assert main(["check", "--config", str(write_config(tmp_path, controller=GOOD))]) == 0
