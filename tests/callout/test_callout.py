"""A call-out goes turn by turn until somebody has it; a matter joins it; the life cycle is its table."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.callout import CallOut, Matter, matter_over, next_state, open_or_join, take, tick
from gateway.callout.chatter import ChatterSpell, quiet_again, watch
from gateway.callout.state import TRANSITIONS
from gateway.settings.models import CallOut as Table
from gateway.settings.models import Contact

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
WREN = Contact(id="wren", name="Wren", number="+61491570156", turn=1)
ROBIN = Contact(id="robin", name="Robin", number="+61491570157", turn=2)
LOW = Matter(key="low:house", kind="low", event=1)
SPRING = Matter(key="low:spring", kind="low", event=2)
BY_TURNS = Table(take_within=15 * MINUTE, remind_every=60 * MINUTE)


def told(step):
    return [(one.contact, one.why) for one in step.tell]


def opened(table=BY_TURNS):
    return open_or_join(None, LOW, "tanks", (WREN, ROBIN), table, NOW)


def test_everyone_at_once_by_default():
    """With `take_within` of 0 nobody waits for anybody."""
    assert told(opened(Table())) == [("wren", "first"), ("robin", "first")]


def test_turn_by_turn_until_unanswered():
    """First turn, second turn, then it is said to have gone unanswered; reminders go on."""
    first = opened()
    assert told(first) == [("wren", "first")] and first.due == NOW + 15 * MINUTE
    nothing = tick(first.call_out, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, NOW + 14 * MINUTE)
    assert nothing.call_out == first.call_out
    second = tick(first.call_out, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, NOW + 15 * MINUTE)
    assert told(second) == [("robin", "next-turn")]
    last = tick(second.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + 30 * MINUTE)
    assert last.call_out.state == "unanswered" and {why for _, why in told(last)} == {"unanswered"}
    reminded = tick(last.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + 90 * MINUTE)
    assert {why for _, why in told(reminded)} == {"reminder"}


@pytest.mark.parametrize(
    ("delivery", "after", "moves"),
    [("failed", MINUTE, True), ("sent", MINUTE, False), ("sent", 11 * MINUTE, True), ("delivered", 11 * MINUTE, False)],
)
def test_a_message_that_did_not_arrive_counts_as_not_told(delivery, after, moves):
    """Refused, or not delivered in ten minutes: the next turn at once."""
    step = tick(opened().call_out, {"wren": delivery}, (WREN, ROBIN), BY_TURNS, NOW + after)
    assert (told(step) == [("robin", "next-turn")]) is moves


def test_ok_takes_it_and_others_learn():
    """After that no turn, no reminder."""
    both = opened(Table()).call_out
    taken = take(both, "robin", NOW + MINUTE)
    assert told(taken) == [("wren", "taken")] and taken.call_out.taken_by == "robin"
    later = tick(taken.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + timedelta(days=1))
    assert later.call_out == taken.call_out and not later.tell


def test_a_second_tank_joins_and_each_ends_by_itself():
    """One call-out: closed when the last of its matters is over."""
    joined = open_or_join(opened(Table()).call_out, SPRING, "tanks", (WREN, ROBIN), Table(), NOW + MINUTE)
    assert {one.key for one in joined.call_out.matters} == {"low:house", "low:spring"}
    one_left = matter_over(joined.call_out, "low:house")
    assert one_left is not None and one_left.state == "open"
    closed = matter_over(one_left, "low:spring")
    assert closed is not None and closed.state == "closed"
    assert matter_over(joined.call_out, "low:other") is None


def test_the_table_is_whole_and_says_what_it_lacks():
    """A pair that is missing raises and names both."""
    assert {state for state, _ in TRANSITIONS} == {"open", "taken", "unanswered"}
    with pytest.raises(KeyError, match=r"closed.*take"):
        next_state("closed", "take")


def test_state_survives_as_json():
    """A restart in any state goes on where it was."""
    call_out = take(opened().call_out, "wren", NOW).call_out
    assert CallOut.from_json(call_out.as_json()) == call_out


@pytest.mark.parametrize(
    ("gaps_s", "verdict"),
    [
        ([0], "fine"),
        ([0, 10], "fine"),
        ([0, 10, 10], "starts"),
        ([0, 40, 40], "fine"),
        ([0, *[200] * 5], "starts"),
        ([0, 5, 5, 5], "goes-on"),
    ],
)
def test_chatter(gaps_s, verdict):
    """Three changes in a minute, or six in half an hour (waves), start a spell; it ends after ten quiet minutes."""
    spell, at, said = ChatterSpell(), NOW, "fine"
    for gap in gaps_s:
        at += timedelta(seconds=gap)
        spell, said = watch(spell, at)
    assert said == verdict
    if said != "fine":
        assert not quiet_again(spell, at + 9 * MINUTE) and quiet_again(spell, at + 10 * MINUTE)
    assert ChatterSpell.from_json(spell.as_json()) == spell
