"""A walk step by step, as values: what a text is to it, what two steps say of a float, where it goes on."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.errands_and_tests import WalkedFloat, WalkLeg, WalkUnderWay
from gateway.proof import current, expected, heard_now, motion_of, next_place, step_over, with_fault

NOON = datetime(2026, 7, 6, 12, 0, tzinfo=UTC)
LATER = NOON + timedelta(minutes=1)
HOUSE = WalkedFloat(key="ridge:1", tank="house", means="low", up=False)
TROUGH = WalkedFloat(key="ridge:2", tank="trough", means="high", up=False)
DONE = replace(TROUGH, done_at=NOON)
NOTHING = replace(DONE, faults=("nothing",))


def walk(*floats: WalkedFloat, **more) -> WalkUnderWay:
    return WalkUnderWay(at=NOON, tester="wren", by_text=False, wait_s=180, floats=floats, since=NOON, **more)


def leg(text: str, seconds: float = 3) -> WalkLeg:
    """A text that took so long."""
    return WalkLeg(text=text, rule=1, stamp=NOON, heard_at=NOON + timedelta(seconds=seconds), message=1)


@pytest.mark.parametrize(
    ("means", "up", "motions", "says"),
    [
        ("low", False, ["lift", "lower"], ["idle", "active"]),
        ("low", True, ["lower", "lift"], ["active", "idle"]),
        ("high", False, ["lift", "lower"], ["active", "idle"]),
        ("high", True, ["lower", "lift"], ["idle", "active"]),
    ],
)
def test_what_the_hand_does_and_what_the_float_should_say(means, up, motions, says):
    """A float that stands up is lowered first; a low float is active when it hangs, a high one when it is lifted."""
    tried = replace(HOUSE, means=means, up=up)
    assert [motion_of(tried, step) for step in (0, 1)] == motions
    assert [expected(tried, step) for step in (0, 1)] == says


@pytest.mark.parametrize(
    ("under_way", "key", "means", "state", "heard"),
    [
        (walk(HOUSE), "ridge:1", "low", "idle", "as-expected"),
        (walk(HOUSE), "ridge:1", "low", "active", "wrong-meaning"),
        (walk(replace(HOUSE, said="idle")), "ridge:1", "low", "idle", "as-expected"),
        (walk(replace(HOUSE, said="idle"), step=1), "ridge:1", "low", "idle", "settles"),
        (walk(replace(HOUSE, said="idle"), step=1), "ridge:1", "low", "active", "as-expected"),
        (walk(HOUSE, step=1), "ridge:1", "low", "idle", "wrong-meaning"),
        # another float: it moves as the hand did, or not
        (walk(HOUSE, TROUGH), "ridge:2", "high", "active", "crossed"),
        (walk(HOUSE, TROUGH), "ridge:2", "high", "idle", "not-ours"),
        (walk(HOUSE), "ridge:9", "low", "idle", "crossed"),
        (walk(HOUSE, step=1), "ridge:9", "low", "idle", "not-ours"),
        # one that was tried already settles until it is freed
        (walk(DONE, HOUSE, place=1), "ridge:2", "high", "active", "settles"),
        (walk(replace(DONE, freed=True), HOUSE, place=1), "ridge:2", "high", "active", "crossed"),
        (walk(replace(DONE, freed=True), HOUSE, place=1), "ridge:2", "high", "idle", "not-ours"),
        (walk(DONE, HOUSE, place=1), "ridge:3", "high", "idle", "not-ours"),
        (walk(DONE, place=1), "ridge:2", "high", "active", "settles"),
        (walk(DONE, place=1), "ridge:3", "high", "active", "not-ours"),
        (walk(HOUSE, interrupted=True), "ridge:1", "low", "idle", "not-ours"),
    ],
)
def test_what_a_text_is_to_the_walk(under_way, key, means, state, heard):
    """Of the float being tried, of another, of one that was tried before."""
    assert heard_now(under_way, key, means, state) == heard


def test_which_float_is_being_tried():
    """None once all were, and while nobody is there."""
    assert current(walk(DONE, HOUSE, place=1)) == HOUSE
    assert current(walk(DONE, HOUSE, place=2)) is None
    assert current(walk(HOUSE, interrupted=True)) is None


@pytest.mark.parametrize(
    ("text", "state", "said"),
    [
        (leg("up"), "idle", {"said": "idle", "idle": leg("up")}),
        (leg("up"), "active", {"said": "active", "active": leg("up")}),
        (None, None, {}),
        (None, "idle", {}),
        (leg("up"), None, {}),
    ],
)
def test_the_first_step_is_over(text, state, said):
    """The same float, the other way; its text is kept under what it said."""
    after = step_over(walk(HOUSE, TROUGH), text, state, LATER)
    assert after == replace(walk(replace(HOUSE, **said), TROUGH), step=1, since=LATER)


@pytest.mark.parametrize(
    ("before", "text", "state", "faults"),
    [
        ({"idle": leg("a")}, leg("b"), "active", ()),
        ({"active": leg("a")}, leg("b"), "idle", ()),
        ({"idle": leg("a")}, None, None, ("never-active",)),
        ({"active": leg("a")}, None, None, ("never-over",)),
        ({}, None, None, ("nothing",)),
        ({"idle": leg("a", 120)}, leg("b", 120), "active", ()),
        ({"idle": leg("a", 121)}, leg("b"), "active", ("slow",)),
        ({"idle": leg("a")}, leg("b", 121), "active", ("slow",)),
        ({"active": leg("a", 121)}, None, None, ("never-over", "slow")),
        ({"faults": ("undelivered",)}, None, None, ("undelivered", "nothing")),
        # what was found says it already
        *[
            ({"faults": (fault,)}, None, None, (fault,))
            for fault in ("wrong-meaning", "crossed:ridge:2", "number:+61491570110", "no-float:3", "unread:X")
        ],
    ],
)
def test_what_the_two_steps_say(before, text, state, faults):
    """Nothing came, one of the two did not, or a text took too long; and the walk goes on with the next float."""
    after = step_over(walk(replace(HOUSE, **before), TROUGH, step=1), text, state, LATER)
    tried = after.floats[0]
    assert (tried.faults, tried.done_at) == (faults, LATER)
    assert (after.place, after.step, after.since, after.interrupted) == (1, 0, LATER, False)
    assert after.floats[1] == TROUGH
    kept = {"active": before.get("active"), "idle": before.get("idle")} | ({state: text} if state else {})
    assert (tried.active, tried.idle) == (kept["active"], kept["idle"])


@pytest.mark.parametrize(
    ("under_way", "place", "interrupted"),
    [
        (walk(DONE, HOUSE), 1, False),
        (walk(DONE, DONE, DONE, HOUSE), 3, False),
        (walk(DONE, DONE), 2, False),
        (walk(NOTHING, HOUSE, TROUGH), 1, False),
        (walk(NOTHING, NOTHING, HOUSE, place=1), 2, True),
        (walk(NOTHING, NOTHING, place=1), 2, False),
        (walk(NOTHING, DONE, HOUSE, place=1), 2, False),
        (walk(DONE, NOTHING, NOTHING, HOUSE, place=2), 3, True),
        (walk(NOTHING, HOUSE, NOTHING, TROUGH, place=2), 3, True),
    ],
)
def test_where_it_goes_on(under_way, place, interrupted):
    """With the next float that was not tried; not at all where two in a row said nothing and there is another one."""
    after = next_place(replace(under_way, step=1), LATER)
    assert (after.place, after.step, after.since, after.interrupted) == (place, 0, LATER, interrupted)


def test_a_fault_is_named_once():
    """With what it is about, where there is something."""
    once = with_fault(walk(DONE, HOUSE, TROUGH, place=1), "crossed", "ridge:2")
    assert [each.faults for each in once.floats] == [(), ("crossed:ridge:2",), ()]
    assert with_fault(once, "crossed", "ridge:2") == once
    assert with_fault(once, "slow").floats[1].faults == ("crossed:ridge:2", "slow")
