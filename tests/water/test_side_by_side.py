"""Tanks that do not hang together share what is drawn and what comes: by what stands at the taps, and nobody knows that well."""

import math
from datetime import timedelta

import pytest

from gateway.settings.load import load_text
from gateway.water.chain import use_share
from gateway.water.tank_now import FloatSeen, TankNow
from gateway.water.tank_outlook import outlook
from tests.water.learn_anew import learn
from tests.water.test_balance import CONFIGURATION, DAY, NOW, Happened

STOCK = """
[[tanks]]
id = "stock"
name = "Stock tank"
{shape}
{fed_by}
floats = [ {{ controller = "ridge", input = 4, level_m = 0.5 }}, {{ controller = "ridge", input = 5, means = "high", level_m = 1.9 }} ]
"""
AS_MUCH_AGAIN = "shape = { kind = 'litres', litres = 4000, height_m = 2.0 }"


def household(shape=AS_MUCH_AGAIN, fed_by=""):
    """The spring tank above the house tank, and a stock tank."""
    stock = STOCK.format(shape=shape, fed_by=fed_by)
    return load_text(CONFIGURATION.replace("[source]", f"{stock}[source]"), "gateway.toml").settings


@pytest.mark.parametrize(
    ("shape", "fed_by", "shares"),
    [
        (AS_MUCH_AGAIN, "", (0.5, 0.5, 0.5)),
        ("shape = { kind = 'litres', litres = 12000, height_m = 2.0 }", "", (0.25, 0.25, 0.75)),
        ("", "", (1, 1, 1)),
        (AS_MUCH_AGAIN, 'fed_by = ["spring"]', (1, 1, 1)),
        (AS_MUCH_AGAIN, 'fed_by = ["house"]', (1, 1, 1)),
    ],
)
def test_what_goes_through_tanks_that_hang_together(shape, fed_by, shares):
    """By what the tanks at the taps hold; all of it where all hang together, and where a size is not known."""
    settings = household(shape, fed_by)
    assert tuple(use_share(settings, tank) for tank in settings.tanks) == pytest.approx(shares)


def low_since_noon(settings, tank):
    """The outlook of that tank, low since now, all others well."""
    states = {}
    for configured in settings.tanks:
        low = configured.id == tank
        floats = (FloatSeen(means="low", level_m=0.5, state="active" if low else "idle", since=NOW if low else None),)
        states[configured.id] = TankNow(state="low" if low else "ok", since=NOW if low else None, floats=floats)
    learnt = learn([], settings, NOW.tzinfo)
    return outlook(settings, states, learnt, NOW, NOW.tzinfo, str)[tank]


def test_half_the_house_s_water_lasts_twice_as_long_and_nobody_knows_so_well():
    """1,000 l below the float at 500 l a day: two days where all is drawn from it, four where another tank has its half."""
    alone = load_text(CONFIGURATION.replace('fed_by = ["spring"]', ""), "gateway.toml").settings
    alone = alone.model_copy(update={"tanks": alone.tanks[1:]})
    beside = alone.model_copy(update={"tanks": (*alone.tanks, household().tanks[2])})
    (early, likely, late), (early_beside, likely_beside, late_beside) = (
        low_since_noon(settings, "house").dry_at for settings in (alone, beside)
    )
    assert timedelta(days=1) < likely - NOW < timedelta(days=2.5)
    assert 1.6 < (likely_beside - NOW) / (likely - NOW) < 2.4
    assert (late_beside - NOW) / (early_beside - NOW) > 1.3 * (late - NOW) / (early - NOW)


def test_a_fill_of_one_of_two_teaches_what_the_whole_source_gives():
    """2,800 l from low to full at a quarter of the day's use: the other tank gets as much in the meantime."""
    one_of_two = household()
    fill = [
        Happened("low", "stock", NOW),
        Happened("low-over", "stock", NOW + DAY),
        Happened("high", "stock", NOW + 5 * DAY),
    ]
    alone = one_of_two.model_copy(update={"tanks": one_of_two.tanks[2:]})
    of_two, of_all = (learn(fill, settings, NOW.tzinfo) for settings in (one_of_two, alone))
    assert of_two.source_l_day > 1.3 * of_all.source_l_day
    assert len(of_two.shown) == 1 and len(of_all.shown) == 1
    # 700 l a day stayed: with half the use of 500 that is half of 1,900, with all of it 1,200
    shown = [math.exp(learnt.shown[0].log_l_day) for learnt in (of_two, of_all)]
    assert shown == pytest.approx([1900, 1200], rel=0.05)
