"""Events → episodes, and a tank's low ones in figures."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event
from gateway.status.episodes import episodes_of, low_figures

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def event(kind: str, at: datetime, tank: str | None = None, **detail: object) -> Event:
    """An event that was known at once."""
    return Event(kind=kind, at=at, heard_at=at, known_at=at, tank=tank, detail=detail)


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        ([("low", 5, {}), ("low-over", 3, {})], [("low", 5, 3)]),
        ([("low", 5, {})], [("low", 5, None)]),
        ([("low", 5, {}), ("low", 4, {}), ("low-over", 3, {})], [("low", 5, 3)]),
        ([("low-over", 3, {"lasted_s": 7200.0})], [("low", 5, 3)]),
        ([("low-over", 3, {"lasted_s": 7200.0, "first": True})], []),
        ([("gateway-stopped", 5, {}), ("gateway-started", 3, {})], [("off", 5, 3)]),
        ([("gateway-started", 3, {})], []),
        ([("modem-lost", 5, {}), ("modem-back", 4, {}), ("note", 2, {})], [("modem", 5, 4), ("note", 2, 2)]),
        ([("gateway-stopped", 5, {})], []),
    ],
)
def test_events_become_episodes(events, expected):
    """An end without its beginning tells it by how long it lasted; what still lasts has no end; a stop for good is no outage."""
    episodes = episodes_of(event(kind, NOW - hours * HOUR, **detail) for kind, hours, detail in events)
    assert [(episode.family, episode.began, episode.ended) for episode in episodes] == [
        (family, NOW - began * HOUR, None if ended is None else NOW - ended * HOUR) for family, began, ended in expected
    ]


def test_a_cut_of_power_is_an_outage_from_when_it_surely_worked():
    """A start that says since when it was off."""
    since = NOW - 9 * HOUR
    (episode,) = episodes_of([event("gateway-started", NOW, **{"from": since.isoformat()})])
    assert (episode.family, episode.began, episode.ended) == ("off", since, NOW)


def low_events(*switches: tuple[str, float]) -> list[Event]:
    """(kind, hours ago), of the house tank."""
    return [event(kind, NOW - hours * HOUR, "house", lasted_s=36000.0) for kind, hours in switches]


@pytest.mark.parametrize(
    ("switches", "count", "median_h"),
    [
        ((("low", 40), ("low-over", 32), ("low", 10), ("low", 9)), 2, 8.0),
        ((("low", 40), ("low-over", 32)), 1, 8.0),
        ((("low", 10),), 1, None),
        ((("low-over", 32), ("low", 10), ("low-over", 8)), 1, 2.0),
        ((("low", 300), ("low-over", 32)), 0, None),
        ((("low", 10), ("low-over", -1)), 1, None),
        ((), 0, None),
    ],
)
def test_a_tanks_low_episodes_in_figures(switches, count, median_h):
    """One that still lasts counts for so long; one that began before is not counted, nor one of another tank, nor what is yet to come."""
    others = [event("low", NOW - 20 * HOUR, "spring"), event("high", NOW - 20 * HOUR, "house")]
    events = sorted([*low_events(*switches), *others], key=lambda event: event.at)
    figures = low_figures(events, "house", NOW - timedelta(days=10), NOW)
    assert (figures.count, figures.median_h) == (count, median_h)
    few, likely, many = figures.a_year
    assert likely == pytest.approx(count * 36.525) and few <= likely < many
