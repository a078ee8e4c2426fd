"""How urgent a text is, what it says and what is due after it go by one forecast: reckoned once, and anew as soon as anything is otherwise."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.people import InflowSaid, Presence
from gateway.status.forecast import forecasts
from gateway.status.snapshot import take_snapshot
from tests.handlers.days import Days

NOW, H = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1)
AWAY = Presence(people=0, since=NOW, until=None, by="robin")
RUNS = InflowSaid(tank="house", runs=True, at=NOW + H, by="robin")


@pytest.fixture
def days(tmp_path):
    """A household whose house tank is low since NOW."""
    days = Days(tmp_path)
    days.comes(NOW, "LINE 2 BROKE 1200")
    days.comes(NOW, "LINE 1 MADE 1200")
    yield days
    days.store.close()


def look(days, at=NOW + 2 * H, site=None):
    with days.store.read() as reader:
        return forecasts(reader, site or days.site, take_snapshot(reader, days.site, at, numbers=False))


def test_the_same_moment_is_reckoned_once(days):
    assert look(days) is look(days)


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda days: days.comes(NOW + H, "LINE 2 MADE 1300"), id="another text"),
        pytest.param(lambda days: days.at(NOW + H, lambda unit: unit.tx.set_state(AWAY)), id="an empty house"),
        pytest.param(lambda days: days.at(NOW + H, lambda unit: unit.tx.set_state(RUNS)), id="somebody looked"),
    ],
)
def test_it_is_reckoned_anew_once_more_is_known(days, change):
    before = look(days)
    change(days)
    assert look(days)["house"] != before["house"]


def test_another_moment_is_another_forecast(days):
    assert look(days)["house"].dry_at != look(days, NOW + 9 * H)["house"].dry_at
