"""What was foretold is held against what came, where that is known, and the page tells how often it held."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.controllers_and_tanks import ForecastsHeld
from gateway.facts.states.people import TapsDry
from gateway.page.cards import tank_cards
from gateway.phrases import load_phrases, with_page_words
from gateway.status.forecast import forecast_of
from gateway.status.site_standing import site_standing
from tests.handlers.days import Days
from tests.household import WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)

FILLS = """
[[tanks.floats]]
controller = "ridge"
input = 3
means = "high"
level_m = 1.6
[source]
pump = { kind = "steady", flow_l_min = 4 }
"""


@pytest.fixture
def days(tmp_path):
    """A household."""
    made = Days(tmp_path)
    yield made
    made.store.close()


def held(days):
    """Of the house tank."""
    with days.store.read() as reader:
        kept = reader.state(ForecastsHeld, "house")
    return () if kept is None else kept.held


@pytest.mark.parametrize(("hours", "came"), [(0.5, False), (40, True), (30 * 24, False)])
def test_dry_taps_are_held_against_what_was_foretold_as_the_tank_went_low(days, hours, came):
    """Minutes after, as foretold, a month after; the second report of the same spell says nothing more."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.comes(NOON + hours * H, "DRY", number=WREN)
    assert held(days) == (came,)
    days.comes(NOON + (hours + 1) * H, "DRY", number=WREN)
    assert held(days) == (came,)


def test_dry_taps_that_nothing_foretold_are_not_counted(days):
    """No tank was low, or it is well again."""
    days.comes(NOON, "DRY", number=WREN)
    days.comes(NOON + DAY, "LINE 1 MADE 0717")
    days.comes(NOON + 2 * DAY, "LINE 1 BROKE 0717")
    days.comes(NOON + 3 * DAY, "DRY", number=WREN)
    assert held(days) == ()


def foretold(days, now, what):
    """The edges of the house tank's forecast at that time."""
    with days.store.read() as reader:
        early, _, late = getattr(forecast_of(reader, days.site, "house", now), what)
    return early, late


@pytest.mark.parametrize(
    ("edge", "after_h", "came"), [(0, -0.2, False), (0, 0.2, True), (1, -0.2, True), (1, 0.2, False)]
)
def test_a_full_tank_is_held_against_what_was_foretold_as_it_began_to_fill(days, edge, after_h, came):
    """Before the early edge, within both, after the late one; that it is full again later says nothing more."""
    days.configure(rest=FILLS)
    days.comes(NOON, "LINE 1 MADE 0717")
    days.comes(NOON + 3 * H, "LINE 1 BROKE 0717")
    full = foretold(days, NOON + 3 * H, "full_at")[edge] + after_h * H
    days.comes(full, "LINE 3 MADE 0717")
    assert held(days) == (came,)
    days.comes(full + 5 * H, "LINE 3 BROKE 0717")
    days.comes(full + 9 * H, "LINE 3 MADE 0717")
    assert held(days) == (came,)


def test_a_tank_that_fills_without_having_been_low_is_not_counted(days):
    """Nothing was foretold: it was never low, or is low still and its high float says otherwise."""
    days.configure(rest=FILLS)
    days.comes(NOON, "LINE 3 MADE 0717")
    days.comes(NOON + H, "LINE 3 BROKE 0717")
    days.comes(NOON + 2 * H, "LINE 1 MADE 0717")
    days.comes(NOON + 9 * H, "LINE 3 MADE 0717")
    assert held(days) == ()


@pytest.mark.parametrize(("written_h", "came"), [(-0.1, True), (0.1, False)])
def test_dry_counts_from_when_it_was_written_not_from_when_it_came(days, written_h, came):
    """Whoever stands at a dry tap without coverage writes then: what the network brings a day later is held by its stamp, and so is since
    when the taps are dry.
    """
    days.comes(NOON, "LINE 1 MADE 0717")
    late = foretold(days, NOON, "dry_at")[1]
    days.comes(late + DAY, "DRY", number=WREN, at=late + written_h * H)
    assert held(days) == (came,)
    with days.store.read() as reader:
        assert reader.state(TapsDry).since == late + written_h * H
    (dry,) = days.events("ran-dry")
    assert (dry.at, dry.heard_at) == (late + written_h * H, late + DAY)


@pytest.mark.parametrize(
    ("count", "words"), [(2, ""), (3, "Of its last 3 forecasts 3 held."), (12, "Of its last 9 forecasts 9 held.")]
)
def test_the_page_tells_it_with_a_forecast(days, count, words):
    """The last nine; of one or two nothing."""
    now = NOON
    for _ in range(count):
        days.comes(now, "LINE 1 MADE 0717")
        days.comes(now + 40 * H, "DRY", number=WREN)
        days.comes(now + 50 * H, "LINE 1 BROKE 0717")
        now += 30 * DAY
    days.comes(now, "LINE 1 MADE 0717")
    with days.store.read() as reader:
        standing = site_standing(reader, days.site, now)
    site = replace(days.site, phrases=with_page_words(load_phrases("en")))
    (house,), _ = tank_cards(replace(standing, site=site))
    assert any("Dry" in line for line in house.reckoned)
    assert [line for line in house.reckoned if "forecasts" in line] == ([words] if words else [])
