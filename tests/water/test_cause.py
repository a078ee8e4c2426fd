"""Why a tank is low is told from what other tanks' floats said, and from nothing else."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.settings.load import load_text
from gateway.water.balance import balance
from gateway.water.cause import causes
from gateway.water.tank_now import FloatSeen, TankNow
from tests.water.learn_anew import learn

CONFIGURATION = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
[modem]
device = "simulated"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
[[controllers.rules]]
text = "LINE {input} {state} *"
means = "input"
active = ["MADE"]
idle = ["BROKE"]
[[tanks]]
id = "spring"
name = "Spring tank"
shape = { kind = "litres", litres = 2000, height_m = 1.5 }
floats = [ { controller = "ridge", input = 2, level_m = 0.5 } ]
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "litres", litres = 4000, height_m = 1.8 }
fed_by = ["spring"]
floats = [ { controller = "ridge", input = 1, level_m = 0.6 } ]
[demand]
people = 4
"""
NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
LOW = TankNow(state="low", since=NOW, floats=(FloatSeen(means="low", level_m=0.6, state="active", since=NOW),))


def cause_of(settings, states, place=1):
    """What is thought of the house tank, or of the one at that place."""
    learnt, tank = learn((), settings, UTC), settings.tanks[place]
    seen = balance(settings, states, tank, learnt, NOW, UTC)
    return causes(settings, states, tank, seen, learnt, NOW, UTC, lambda at: at.strftime("%H:%M"))


def why(spring):
    """The cause of a low house tank below a spring tank that stands so."""
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    return cause_of(settings, {"spring": spring, "house": LOW})


@pytest.mark.parametrize("said_nothing", [True, False])
def test_no_cause_is_told_from_a_tank_that_was_never_heard_of(said_nothing):
    """Seen: "blocked between" because a tank upstream had never said that it was low. That is no word that water stands in it."""
    told = why(TankNow(state="unknown", since=None, said_nothing=said_nothing))
    assert told.cause.kind == "unclear"
    assert "stands above" not in told.cause.because


@pytest.mark.parametrize(
    ("was", "instead", "kind"),
    [
        ('shape = { kind = "litres", litres = 4000, height_m = 1.8 }\n', "", "unclear"),
        ("input = 1, level_m = 0.6", "input = 1", "blocked-between"),
    ],
    ids=["no shape", "no height of the float"],
)
def test_a_cause_is_told_of_a_tank_of_which_little_is_configured(was, instead, kind):
    """What stands below its float is not known then."""
    assert was in CONFIGURATION
    settings = load_text(CONFIGURATION.replace(was, instead), "gateway.toml").settings
    idle = FloatSeen(means="low", level_m=0.5, state="idle", since=NOW - timedelta(days=1))
    states = {"spring": TankNow(state="ok", since=idle.since, floats=(idle,)), "house": LOW}
    told = cause_of(settings, states).cause
    assert told.kind == kind and "Spring tank stands above its low float." in told.because


@pytest.mark.parametrize(("days", "told"), [(7, True), (300, False)])
def test_a_rate_is_told_only_where_it_is_one(days, told):
    """2444 l of the house tank in a week at 480 a day; in most of a year that was another time."""
    idle = FloatSeen(means="low", level_m=0.5, state="idle", since=NOW - timedelta(days=days))
    high = FloatSeen(means="high", level_m=1.7, state="idle", since=NOW - timedelta(days=days))
    house = TankNow(state="low", since=NOW, floats=(*LOW.floats, high))
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    spring = TankNow(state="ok", since=idle.since, floats=(idle,))
    because = cause_of(settings, {"spring": spring, "house": house}).cause.because
    assert ("times the usual use." in because) is told


def test_no_rate_is_told_from_one_tank_to_the_next():
    """How full the house tank stood as the spring tank went low no text says: 3167 l were told to have gone, as if it had been full."""
    since = NOW - timedelta(days=7)
    active = FloatSeen(means="low", level_m=0.5, state="active", since=since)
    told = why(TankNow(state="low", since=since, floats=(active,))).cause
    assert told.kind == "supply-stopped" and "usual use" not in told.because


@pytest.mark.parametrize(("heard_until", "kind"), [(None, "float-fault"), (NOW - timedelta(days=19), "unclear")])
def test_a_float_that_is_low_for_weeks_is_at_fault_only_if_its_box_is_heard(heard_until, kind):
    """A silent box would not have told that it is well again."""
    since = NOW - timedelta(days=20)
    active = FloatSeen(means="low", level_m=0.6, state="active", since=since)
    low = TankNow(state="low", since=since, floats=(active,), heard_until=heard_until)
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    assert cause_of(settings, {"spring": TankNow(state="unknown", since=None), "house": low}).cause.kind == kind


def test_water_that_stands_upstream_and_does_not_come_down_is_a_blocked_pipe():
    """The tank upstream has said that it is well: something is in the way."""
    idle = FloatSeen(means="low", level_m=0.5, state="idle", since=NOW - timedelta(days=1))
    told = why(TankNow(state="ok", since=idle.since, floats=(idle,)))
    assert told.cause.kind == "blocked-between"
    assert "Spring tank stands above its low float." in told.cause.because


def test_a_tank_upstream_that_was_low_before_tells_of_a_stopped_supply():
    """Nothing arrives from the source: the upper tank went first."""
    before = NOW - timedelta(days=4)
    active = FloatSeen(means="low", level_m=0.5, state="active", since=before)
    assert why(TankNow(state="low", since=before, floats=(active,))).cause.kind == "supply-stopped"


@pytest.mark.parametrize(("levels", "is_fault"), [((), True), (((NOW, 3.0),), False), (((NOW, 3900.0),), True)])
def test_a_float_that_has_long_been_low_is_at_fault_unless_a_gauge_reads_low_too(levels, is_fault):
    """Seen in a year lived through: a tank empty for a week, by its gauge too, of which people were told to look at the float."""
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    since = NOW - timedelta(days=30)
    active = FloatSeen(means="low", level_m=0.6, state="active", since=since)
    states = {
        "spring": TankNow(state="unknown", since=None),
        "house": TankNow(state="low", since=since, floats=(active,), levels=levels),
    }
    assert (cause_of(settings, states).cause.kind == "float-fault") is is_fault


def test_a_tank_upstream_that_is_dry_for_long_is_no_fault_of_its_float():
    """Seen in a story: its supply had stopped, and after half a day "float-fault". Nobody sees at a tap that a tank upstream ran dry."""
    since = NOW - timedelta(days=12)
    active = FloatSeen(means="low", level_m=0.5, state="active", since=since)
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    idle = FloatSeen(means="low", level_m=0.6, state="idle", since=since)
    house = TankNow(state="ok", since=since, floats=(idle,))
    low = TankNow(state="low", since=since, floats=(active,))
    assert cause_of(settings, {"spring": low, "house": house}, 0).cause.kind != "float-fault"
    assert cause_of(settings, {"spring": house, "house": low}).cause.kind == "float-fault"
