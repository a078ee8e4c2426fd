"""Each explanation's own balance in closed form, and what is made of what was told and what was not."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.settings.load import load_text
from gateway.water.balance import balance, dry_parts
from gateway.water.chain import Chain, chain_of, stages_of
from gateway.water.explanations import MISSING_TIMES, PIPE_TIMES, Rates, explanations
from gateway.water.flow_belief import fill_days
from gateway.water.tank_now import FloatSeen, TankNow
from gateway.water.tank_outlook import outlook
from tests.water.learn_anew import learn

CONFIGURATION = """
[site]
name = "Quandong Ridge"
timezone = "UTC"
country = "AU"
[modem]
device = "simulated"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
[[tanks]]
id = "spring"
name = "Spring tank"
shape = { kind = "litres", litres = 2000, height_m = 2.0 }
floats = [ { controller = "ridge", input = 2, level_m = 0.5 } ]
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "litres", litres = 4000, height_m = 2.0 }
fed_by = ["spring"]
floats = [ { controller = "ridge", input = 1, level_m = 0.5 }, { controller = "ridge", input = 3, means = "high", level_m = 1.9 } ]
[source]
pump = { kind = "steady", flow_l_min = 1.0 }
[demand]
people = 1
litres_per_person_day = 500
"""
NOW = datetime(2026, 11, 25, tzinfo=UTC)
DAY, H = timedelta(days=1), timedelta(hours=1)
USE, SOURCE = 500.0, 1440.0


class Happened:
    """As much of an event as is learnt from."""

    def __init__(self, kind, tank, at):
        self.kind, self.tank, self.at = kind, tank, at


@pytest.fixture
def settings():
    return load_text(CONFIGURATION, "gateway.toml").settings


def low(since, level_m=0.5):
    """A low float that says so since then."""
    return TankNow(
        state="low", since=since, floats=(FloatSeen(means="low", level_m=level_m, state="active", since=since),)
    )


def well(since, *, high_since=None):
    """A tank above its low float since then; its high float idle since then, where it has one."""
    floats = [FloatSeen(means="low", level_m=0.5, state="idle", since=since)]
    if high_since is not None:
        floats.append(FloatSeen(means="high", level_m=1.9, state="idle", since=high_since))
    return TankNow(state="ok", since=since, floats=tuple(floats))


def days_of(settings, kind, **points):
    """(tank, what) → days since the trouble began, by that explanation."""
    states = {
        "spring": low(NOW),
        "house": replace(low(NOW), floats=(*low(NOW).floats, *well(NOW, high_since=NOW).floats[1:])),
    }
    chain = chain_of(settings, states, settings.tanks[1], USE, SOURCE - USE, {}, {})
    found = next(
        explanation
        for explanation in explanations(chain, Rates(), USE, SOURCE)
        if explanation.kind == kind and all(getattr(explanation, name) == value for name, value in points.items())
    )
    return {(mark.tank, mark.kind): days for mark, days in zip(chain.marks, found.days, strict=True)}


def test_a_float_s_level_is_measured_where_the_shape_is_known(settings):
    """At 0.8 m of 2 m 1,600 of 4,000 l are left below it, 2,400 are drained; where no shape is known, three quarters of what is guessed."""
    house = settings.tanks[1]
    states = {"spring": well(NOW), "house": low(NOW, level_m=0.8)}

    def drained(tank):
        chain = chain_of(settings, states, tank, USE, SOURCE - USE, {}, {})
        return next(mark.drained_l for mark in chain.marks if (mark.tank, mark.kind) == ("house", "low"))

    assert drained(house) == pytest.approx(2400)
    assert drained(house.model_copy(update={"shape": None})) == pytest.approx(0.75 * 3 * USE)


def test_a_tank_that_feeds_by_two_ways_is_one_stage(settings):
    """The spring feeds the house and the tank between: it stands once, next to the source."""
    spring, house = settings.tanks
    between = spring.model_copy(update={"id": "between", "fed_by": ("spring",)})
    house = house.model_copy(update={"fed_by": ("spring", "between")})
    both = settings.model_copy(update={"tanks": (spring, between, house)})
    ids = [[member.id for member in stage] for stage in stages_of(both, house)]
    assert ids == [["spring", "between"], ["house"]]


def test_a_stopped_source_drains_the_upper_tank_first_and_then_the_lower_one(settings):
    """2000 l above, 4000 below, 500 a day: 1500 until the upper float, 200 and 3000 of the house's after the 2000 above are gone."""
    days = days_of(settings, "supply-stopped")
    assert days[("spring", "low")] == pytest.approx(3.0)
    assert days[("spring", "dry")] == pytest.approx(4.0)
    assert days[("house", "high-over")] == pytest.approx(4.4)
    assert days[("house", "low")] == pytest.approx(10.0)
    assert days[("house", "dry")] == pytest.approx(12.0)


def test_a_blocked_pipe_drains_only_what_is_below_it(settings):
    """The upper tank is never low by it."""
    days = days_of(settings, "blocked-between")
    assert days[("spring", "low")] == math.inf
    assert days[("house", "low")] == pytest.approx(6.0) and days[("house", "dry")] == pytest.approx(8.0)


def test_more_drawn_empties_both_by_what_the_pipe_passes(settings):
    """X litres a day are missing; the pipe passes P: the upper falls by P - S, the house by X + S - P until that is empty, then by X."""
    missing, pipe = len(MISSING_TIMES) - 1, 3
    lack, flow = MISSING_TIMES[missing] * USE, PIPE_TIMES[pipe] * SOURCE
    days = days_of(settings, "heavy-draw", missing=missing, pipe=pipe)
    falls, empty_above = lack + SOURCE - flow, 2000 / (flow - SOURCE)
    assert days[("spring", "low")] == pytest.approx(1500 / (flow - SOURCE))
    assert days[("house", "low")] == pytest.approx(3000 / falls) and 3000 / falls < empty_above
    wide = days_of(settings, "heavy-draw", missing=0, pipe=len(PIPE_TIMES) - 1)
    lack = MISSING_TIMES[0] * USE
    assert wide[("spring", "dry")] == pytest.approx(2000 / lack)
    assert wide[("house", "dry")] == pytest.approx((2000 + 4000) / lack)


@pytest.mark.parametrize(
    ("stages", "source", "between", "more"),
    [(1, 0.42 / 0.76, 0, 0.34 / 0.76), (2, 0.42, 0.24, 0.34), (3, 0.42 / 1.24, 0.48 / 1.24, 0.34 / 1.24)],
)
def test_each_pipe_has_its_share_of_the_troubles(stages, source, between, more):
    """The prior of each kind, one: a pipe more is one more that may be blocked."""
    chain = Chain(holds_l=(1000.0,) * stages, guessed=(False,) * stages, marks=())
    priors = dict.fromkeys(("supply-stopped", "blocked-between", "heavy-draw"), 0.0)
    for found in explanations(chain, Rates(), USE, SOURCE):
        priors[found.kind] += found.prior
    assert list(priors.values()) == pytest.approx([source, between, more])


def parts_after(settings, hours, heard=True):
    """The house tank's, so long after it was low below a spring tank that stands; `heard`: or its boxes fell silent just then."""
    until = None if heard else NOW + 2 * H
    states = {"spring": replace(well(LONG_AGO), heard_until=until), "house": replace(low(NOW), heard_until=until)}
    learnt = learn([], settings, UTC)
    seen = balance(settings, states, settings.tanks[1], learnt, NOW + hours * H, UTC)
    return seen, dry_parts(seen, learnt, "house")


def test_of_a_silent_box_nothing_is_concluded_from_what_it_did_not_tell(settings):
    """While it is heard each hour without a word of the spring tank makes a cut at the source less likely; and each quiet day, parts by its
    root the edges that it no longer corrects."""
    heard, unheard = (parts_after(settings, 60, heard)[0].weights() for heard in (True, False))
    assert unheard["heavy-draw"] > 2 * heard["heavy-draw"]
    (_, before), (_, after) = (parts_after(settings, hours, heard=False) for hours in (2, 26))
    first, later = (min(part.spread for part in parts if part.kind == "supply-stopped") for parts in (before, after))
    assert math.sqrt(later**2 - first**2) == pytest.approx(0.28)


LONG_AGO = NOW - 40 * DAY
CASES = [
    ("the upper tank went at the house's use, long before", low(NOW - 7 * DAY), "supply-stopped"),
    ("the upper tank went hours before: nothing but a leak is so fast", low(NOW - 5 * H), "heavy-draw"),
    ("water stands above and does not come down", well(LONG_AGO), "blocked-between"),
]


@pytest.mark.parametrize(("upper", "kind"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_the_time_between_two_switches_tells_the_cause(settings, upper, kind):
    """One number each: how long after the upper float the lower one switched, or that it did not."""
    states = {"spring": upper, "house": low(NOW)}
    learnt = learn((), settings, UTC)
    seen = balance(settings, states, settings.tanks[1], learnt, NOW, UTC)
    weights = seen.weights()
    assert max(weights, key=weights.get) == kind and sum(weights.values()) == pytest.approx(1.0)
    if kind == "supply-stopped":
        at = outlook(settings, states, learnt, NOW, UTC, str)["house"].dry_at
        assert at[0] < NOW + 2 * DAY < at[2] and at[2] - NOW < 3 * (at[0] - NOW)
    assert all(part.weight > 0 and part.since == NOW for part in dry_parts(seen, learnt, "house"))


def test_what_people_say_they_draw_brings_the_time_forward(settings):
    """Twice as many people, half the time; only where the use is what drains it."""
    states = {"spring": low(NOW - 7 * DAY), "house": low(NOW)}
    learnt = learn((), settings, UTC)
    seen = balance(settings, states, settings.tanks[1], learnt, NOW, UTC)
    usual, twice = (dry_parts(seen, replace(learnt, figure_l_day=figure), "house") for figure in (USE, 2 * USE))
    stopped = [part.days for part in usual if part.kind == "supply-stopped"]
    assert [part.days for part in twice if part.kind == "supply-stopped"] == pytest.approx(
        [days / 2 for days in stopped]
    )
    assert [part.days for part in twice if part.by_clock > 0] == [part.days for part in usual if part.by_clock > 0]


def test_a_tank_low_since_before_those_below_were_well_holds_nothing(settings):
    """What comes runs through it: the trouble that lasts now found it empty."""
    states = {"spring": low(NOW - 20 * DAY), "house": low(NOW)}
    marks = chain_of(settings, states, settings.tanks[1], USE, 900.0, {"house": NOW - 15 * DAY}, {})
    assert marks.holds_l == pytest.approx((0.0, 4000.0))
    states = {"spring": low(NOW - 2 * DAY), "house": low(NOW)}
    risen = chain_of(settings, states, settings.tanks[1], USE, 300.0, {"spring": NOW - 4 * DAY}, {})
    assert risen.holds_l[0] == pytest.approx(500 + 2 * 300)


def test_a_tank_whose_high_float_was_not_reached_since_it_was_low_stood_below_that(settings):
    """Ten days at 900 a day would fill the house tank's 4000 l; but its high float, at 3800, has been idle since before it was low."""
    house = replace(low(NOW), floats=(*low(NOW).floats, *well(NOW, high_since=NOW - 20 * DAY).floats[1:]))
    states = {"spring": well(NOW - 20 * DAY), "house": house}

    def stood(over_days_ago):
        chain = chain_of(settings, states, settings.tanks[1], USE, 900.0, {"house": NOW - over_days_ago * DAY}, {})
        return chain.holds_l[1], [mark.kind for mark in chain.marks if mark.tank == "house"]

    assert stood(10) == (pytest.approx(3800), ["low", "dry"])
    assert stood(25) == (pytest.approx(4000), ["low", "high-over", "dry"])


def test_the_past_teaches_the_use_and_the_rate_of_each_trouble(settings):
    """Six springs that stopped, the house at half as much again as its figure: found within a tenth, and stops are thought likelier."""
    events, at = [], NOW - 200 * DAY
    for _ in range(6):
        events += [
            Happened("low", "spring", at),
            Happened("low", "house", at + 3500 / 750 * DAY),
            Happened("ran-dry", "house", at + 4500 / 750 * DAY),
            Happened("low-over", "house", at + 8 * DAY),
            Happened("low-over", "spring", at + 14 * DAY),
        ]
        at += 30 * DAY
    learnt = learn(events, settings, UTC)
    assert learnt.use_l_day == pytest.approx(750, rel=0.1)
    assert learnt.rates.kinds[0] > 0.6 > learn((), settings, UTC).rates.kinds[0]
    assert learnt.use.sd < 0.2


@pytest.mark.parametrize(
    ("above_l", "pipe", "days"),
    [(0.0, 5000.0, 3000 / 1000), (2000.0, 3500.0, 1 + (3000 - 3000) / 1000), (1000.0, 3500.0, 0.5 + 1500 / 1000)],
)
def test_a_fill_is_fast_while_water_stands_above(above_l, pipe, days):
    """3000 l, source 1500, use 500: the pipe gives P - U while the tank above, that loses P - S, has water."""
    assert fill_days(3000.0, 1500.0, pipe, 500.0, above_l) == pytest.approx(days)


@pytest.mark.parametrize(("runs", "times"), [(True, 19), (False, 1 / 19)])
def test_an_answer_moves_the_odds_by_how_often_people_are_mistaken(settings, runs, times):
    """Nineteen looks in twenty are right: water runs in where more is drawn, and none where a pipe above it is blocked."""
    states = {"spring": well(NOW - DAY), "house": low(NOW)}
    house, learnt = settings.tanks[1], learn((), settings, UTC)
    before, after = (
        balance(settings, states, house, learnt, NOW, UTC, said).weights() for said in (None, ("house", runs))
    )
    odds = [found["heavy-draw"] / found["blocked-between"] for found in (before, after)]
    assert odds[1] / odds[0] == pytest.approx(times)
