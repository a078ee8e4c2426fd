"""What was foretold is held against what came, where that is known, and the page tells how often it held."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states import ForecastsHeld
from gateway.page.cards import tank_cards
from gateway.phrases import load_phrases, with_page_words
from gateway.status.site_standing import site_standing
from tests.handlers.days import Days
from tests.household import WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)


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
