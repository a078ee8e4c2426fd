"""Forecasts and causes held to simulated supplies, with the household's own figure right and off by a third."""

import statistics
from datetime import UTC, datetime, timedelta

import pytest

from tests.hydrology.homes import FAMILIES
from tests.hydrology.measure import ALONE, measure, measure_any, measure_hard, measure_homes
from tests.hydrology.scores import Score, forecast, pinball, share


def in_all(*scores: dict[str, Score]) -> Score:
    """All of them together."""
    total = Score()
    for found in scores:
        for score in found.values():
            total.add(score)
    return total


def held_to_the_aim(total: Score) -> None:
    """70 to 95 % inside the 80 % interval, a median factor of at most 1.35, and what is told of causes right in at least 85 %."""
    assert 0.70 <= share([score.inside for score in total.dry]) <= 0.95
    assert 0.70 <= share([score.inside for score in total.full]) <= 0.98
    assert statistics.median(score.factor for score in total.dry) <= 1.35
    assert statistics.median(score.factor for score in total.full) <= 1.35
    assert share(total.told) >= 0.85
    assert share([said == "unclear" for _, said in total.named]) <= 0.4


def test_forecasts_are_honest_and_causes_right():
    """Four supplies that are known, and twenty of any kind; where more than one float speaks, nearly every cause is told, and told right."""
    four, any_supply = measure(6), measure_any(16)
    total = in_all(four, any_supply)
    assert len(total.dry) >= 120
    held_to_the_aim(total)
    several = in_all({name: score for name, score in (*four.items(), *any_supply.items()) if "two floats" in name})
    assert share(several.told) >= 0.93
    alone = in_all({name: score for name, score in four.items() if "low float only" in name})
    assert share([said == "unclear" for _, said in alone.named]) >= 0.9


def test_households_with_published_habits():
    """Two of each family, whatever else is wrong: what is told of causes is right, the intervals hold and are no wider than the days ask for."""
    total = in_all(measure_homes(2))
    assert len(total.dry) >= 180
    assert 0.65 <= share([score.inside for score in total.dry]) <= 0.95
    assert statistics.median(score.factor for score in total.dry) <= 1.25
    assert statistics.median(score.width for score in total.dry) <= 2.5
    assert share(total.told) >= 0.93


@pytest.mark.soak
def test_twenty_households_of_each_family():
    """Each family by itself, and each trouble with the figures, the texts and the people: the aims, where they can be reached at all."""
    for name, score in measure_homes(20).items():
        inside, factor = share([one.inside for one in score.dry]), statistics.median(one.factor for one in score.dry)
        others = "guests" in name or "away" in name
        assert (0.6 if others else 0.7) <= inside <= 0.96, name
        assert factor <= (1.4 if others else 1.3), name
        assert others or share(score.told) >= (0.9 if "lost" in name else 0.93), name
        assert name not in FAMILIES or statistics.median(one.width for one in score.dry) <= 2.6, name


@pytest.mark.soak
def test_any_supply():
    """A hundred supplies of any kind alone."""
    held_to_the_aim(in_all(measure_any(100)))


@pytest.mark.soak
def test_where_something_else_is_wrong():
    """Figures off by two, texts lost, guests that nobody spoke of: the intervals are wider, and hold; where one float alone speaks, half of them
    away look like a little more drawn than comes, and one in two holds."""
    for name, score in measure_hard(30).items():
        assert share([one.inside for one in score.dry]) >= (0.5 if name.endswith(ALONE) else 0.6), name


@pytest.mark.parametrize(
    ("true", "said", "level", "loss"),
    [(0.3, 0.5, 0.2, 0.16), (10, 8, 0.9, 1.8), (10, 12, 0.9, 0.2), (10, 12, 0.1, 1.8), (5, 5, 0.5, 0)],
)
def test_the_pinball_loss_is_the_published_one(true, said, level, loss):
    """Koenker and Bassett 1978, as scoringrules 0.10.0 has it (stats_more.csv)."""
    assert pinball(true, said, level) == pytest.approx(loss)


def test_an_interval_is_held_against_the_truth():
    """Hours from the switch; late over early; off by a factor either way."""
    at = datetime(2026, 3, 1, tzinfo=UTC)
    hours = [at + timedelta(hours=hour) for hour in (2, 4, 6)]
    held = forecast(hours, at, at + timedelta(hours=5))
    assert (held.inside, held.width, held.factor) == (True, 3.0, 1.25)
    assert not forecast(hours, at, at + timedelta(hours=7)).inside
    assert forecast(hours, at, at + timedelta(hours=3)).factor == pytest.approx(4 / 3)
