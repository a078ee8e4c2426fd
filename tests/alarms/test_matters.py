"""Which alarms are one matter, and which of them speaks; that what opens an alarm can end it."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.alarms.matters import (
    is_graver,
    is_one_matter,
    key_ended_by,
    key_opened_by,
    most_urgent_first,
    speaks_for,
)
from gateway.facts import KINDS, Event
from tests.alarms.test_rounds import low

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
LATER = low().since + timedelta(hours=1)
UPSTREAM = {"house": {"hill", "spring"}, "hill": {"spring"}, "spring": set(), "stock": set()}


def tank(name, **more):
    """That tank is low."""
    return low(key=f"low:{name}", tank=name, **more)


def box(family, controller="ridge", **more):
    """Something of that box."""
    return low(key=f"{family}:{controller}", kind="silent", tank=None, controller=controller, priority="soon", **more)


def dry(**more):
    """The taps are dry, said later than those tanks were low."""
    return low(key="dry:house", kind="ran-dry", tank="house", **{"since": LATER, **more})


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
        (dry(), tank("house"), True),
        (dry(), tank("spring"), True),
        (dry(), tank("stock"), False),
        (dry(), tank("house", since=LATER + timedelta(minutes=1)), False),
        (dry(), box("silence"), False),
    ],
)
def test_what_goes_together(one, other, together):
    """Tanks of which one feeds the other, what one box tells of itself, dry taps and the tanks that were low before."""
    assert is_one_matter(one, other, UPSTREAM) is together is is_one_matter(other, one, UPSTREAM)


def test_the_more_urgent_speaks_and_of_two_tanks_the_one_nearer_to_the_taps():
    """The one who speaks is told of first."""
    house, hill = tank("house"), tank("hill")
    assert speaks_for(house, hill, UPSTREAM) and not speaks_for(hill, house, UPSTREAM)
    upstream_only = tank("hill", priority="soon")
    assert speaks_for(house, upstream_only, UPSTREAM) and not speaks_for(upstream_only, house, UPSTREAM)
    assert not speaks_for(box("silence"), box("power"), UPSTREAM)
    assert speaks_for(dry(), house, UPSTREAM) and not speaks_for(house, dry(), UPSTREAM)
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


@pytest.mark.parametrize(
    ("kind", "than", "graver"), [("ran-dry", "low", True), ("low", "ran-dry", False), ("low", "low", False)]
)
def test_which_kind_weighs_more(kind, than, graver):
    """The order of the table of kinds; nothing weighs more than itself."""
    assert is_graver(kind, than) is graver


def test_what_a_household_must_know_first():
    """The urgent, then what water hangs on, then the graver kind, then the older, then what was raised first."""
    soon = box("silence", since=NOW, at_stake=True, id=1)
    staked = tank("house", since=NOW, at_stake=True, id=9)
    graver = tank("house", since=NOW, at_stake=False, kind="ran-dry", id=2)
    older = tank("hill", since=NOW.replace(hour=1), at_stake=False, id=8)
    first, second = (tank("hill", since=NOW, at_stake=False, id=number) for number in (3, 4))
    ordered = [staked, graver, older, first, second, soon]
    assert sorted(reversed(ordered), key=most_urgent_first) == ordered


@pytest.mark.parametrize(
    ("kind", "about", "opened", "ended"),
    [
        ("low", {"tank": "house", "controller": "ridge", "input": "1"}, "low:house", None),
        ("low-over", {"tank": "house"}, None, "low:house"),
        ("silent", {"controller": "ridge"}, "silence:ridge", None),
        ("modem-lost", {}, "modem:gateway", None),
        ("input-active", {"controller": "ridge", "input": "9"}, "input:ridge:9", None),
        ("input-idle", {"controller": "ridge", "input": "9", "detail": {"name": "Lid"}}, None, "input:ridge:lid"),
        ("reading-low", {"controller": "ridge", "detail": {"name": "Cellar"}}, "reading:ridge:cellar", None),
        ("alive", {"controller": "ridge"}, None, None),
    ],
)
def test_the_key_of_an_alarm(kind, about, opened, ended):
    """Its family and whose it is; where a box has several, also which."""
    event = Event(kind=kind, at=NOW, heard_at=NOW, known_at=NOW, **about)
    assert (key_opened_by(event), key_ended_by(event)) == (opened, ended)
