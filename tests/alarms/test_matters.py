"""Which alarms are one matter, and which of them speaks; that what opens an alarm can end it."""

from datetime import UTC, datetime

import pytest

from gateway.alarms.matters import is_one_matter, key_ended_by, key_opened_by, most_urgent_first, speaks_for
from gateway.facts import KINDS, Event
from tests.alarms.test_rounds import low

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
UPSTREAM = {"house": {"hill", "spring"}, "hill": {"spring"}, "spring": set(), "stock": set()}


def tank(name, **more):
    """That tank is low."""
    return low(key=f"low:{name}", tank=name, **more)


def box(family, controller="ridge", **more):
    """Something of that box."""
    return low(key=f"{family}:{controller}", kind="silent", tank=None, controller=controller, priority="soon", **more)


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        (tank("spring"), tank("house"), True),
        (tank("house"), tank("hill"), True),
        (tank("house"), tank("stock"), False),
        (box("power"), box("silence"), True),
        (box("power"), box("battery", "creek"), False),
        (box("silence"), tank("house", controller="ridge"), False),
        (low(key="high:house", kind="high"), tank("hill"), False),
    ],
)
def test_what_goes_together(one, other, together):
    """Tanks of which one feeds the other, and what one box tells of itself."""
    assert is_one_matter(one, other, UPSTREAM) is together is is_one_matter(other, one, UPSTREAM)


def test_the_more_urgent_speaks_and_of_two_tanks_the_one_nearer_to_the_taps():
    """The one who speaks is told of first."""
    house, hill = tank("house"), tank("hill")
    assert speaks_for(house, hill, UPSTREAM) and not speaks_for(hill, house, UPSTREAM)
    upstream_only = tank("hill", priority="soon")
    assert speaks_for(house, upstream_only, UPSTREAM) and not speaks_for(upstream_only, house, UPSTREAM)
    assert not speaks_for(box("silence"), box("power"), UPSTREAM)
    assert sorted([upstream_only, box("power"), house], key=most_urgent_first)[0] == house


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.opens], ids=lambda kind: kind.name)
def test_every_alarm_that_opens_has_its_end(kind):
    """Of the same tank, controller or gateway, and of the same input or reading."""
    about = {"tanks": {"tank": "house"}, "controllers": {"controller": "ridge"}, "gateway": {}}[kind.subject]

    def of_kind(name):
        times = {"at": NOW, "heard_at": NOW, "known_at": NOW}
        return Event(kind=name, input="9", detail={"name": "Lid"}, **times, **about)

    ends = [other.name for other in KINDS.values() if other.closes == kind.opens]
    assert {key_ended_by(of_kind(name)) for name in ends} == {key_opened_by(of_kind(kind.name))}
