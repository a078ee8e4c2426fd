"""A call-out goes turn by turn until somebody has it; an alarm joins it; the life cycle is its table."""

import json
from datetime import UTC, datetime, timedelta
from typing import get_args

import pytest

from gateway.alarms import (
    Alarm,
    CallOut,
    advance,
    alarm_raised_by,
    close_alarm,
    due_at,
    is_urgent,
    key_closed_by,
    next_state,
    raise_alarm,
    take_call_out,
)
from gateway.alarms.call_out import TRANSITIONS
from gateway.facts import URGENT_KINDS, Event, EventKind
from gateway.settings.models import CallOut as Table
from gateway.settings.models import Contact

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
WREN = Contact(id="wren", name="Wren", number="+61491570156", turn=1)
ROBIN = Contact(id="robin", name="Robin", number="+61491570157", turn=2)
HALL = Contact(id="hall", name="Hall", number="+61255500100", line="landline", turn=1)
LOW = Alarm(key="low:house", kind="low", event=1)
SPRING = Alarm(key="low:spring", kind="low", event=2)
BY_TURNS = Table(take_within=15 * MINUTE, remind_every=60 * MINUTE)


def told(step):
    """Who hears of it, and why."""
    return [(notification.contact, notification.why) for notification in step.notifications]


def opened(table=BY_TURNS):
    """A call-out about the house tank, of two turns."""
    return raise_alarm(None, LOW, "tanks", (WREN, ROBIN), table, NOW)


def opened_for(*contacts):
    """The same for these."""
    return raise_alarm(None, LOW, "tanks", contacts, BY_TURNS, NOW)


def test_everyone_at_once_by_default():
    """With `take_within` of 0 nobody waits for anybody."""
    assert told(opened(Table())) == [("wren", "first"), ("robin", "first")]


def test_turn_by_turn_until_unanswered():
    """First turn, second turn, then it is said to have gone unanswered; reminders go on."""
    first = opened()
    assert told(first) == [("wren", "first")] and due_at(first.call_out, BY_TURNS) == NOW + 10 * MINUTE
    nothing = advance(first.call_out, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, NOW + 14 * MINUTE)
    assert nothing.call_out.turn == 1 and not told(nothing)
    second = advance(first.call_out, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, NOW + 15 * MINUTE)
    assert told(second) == [("robin", "next-turn")]
    last = advance(second.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + 30 * MINUTE)
    assert last.call_out.state == "unanswered" and {why for _, why in told(last)} == {"unanswered"}
    reminded = advance(last.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + 90 * MINUTE)
    assert {why for _, why in told(reminded)} == {"reminder"}


@pytest.mark.parametrize(
    ("delivery", "after", "moves"),
    [
        ("failed", MINUTE, True),
        ("refused", MINUTE, True),
        ("waiting", MINUTE, False),
        ("sent", MINUTE, False),
        ("waiting", 10 * MINUTE, True),
        ("sent", 10 * MINUTE, True),
        ("delivered", 11 * MINUTE, False),
    ],
)
def test_a_message_that_did_not_arrive_counts_as_not_told(delivery, after, moves):
    """Refused, or not delivered in ten minutes: the next turn at once."""
    step = advance(opened().call_out, {"wren": delivery}, (WREN, ROBIN), BY_TURNS, NOW + after)
    assert (told(step) == [("robin", "next-turn")]) is moves


def test_ok_takes_it_and_others_learn():
    """After that no turn, no reminder."""
    both = opened(Table()).call_out
    taken = take_call_out(both, "robin", NOW + MINUTE)
    assert told(taken) == [("wren", "taken")] and taken.call_out.taken_by == "robin"
    later = advance(taken.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + timedelta(days=1))
    assert later.call_out == taken.call_out and not told(later)


def test_a_second_tank_joins_and_each_ends_by_itself():
    """One call-out: closed when the last of its alarms is over."""
    joined = raise_alarm(opened(Table()).call_out, SPRING, "tanks", (WREN, ROBIN), Table(), NOW + MINUTE)
    assert {alarm.key for alarm in joined.call_out.alarms} == {"low:house", "low:spring"}
    one_left = close_alarm(joined.call_out, "low:house")
    assert one_left is not None and one_left.state == "open"
    closed = close_alarm(one_left, "low:spring")
    assert closed is not None and closed.state == "closed"
    assert close_alarm(joined.call_out, "low:other") is None


def test_the_table_is_whole_and_says_what_it_lacks():
    """A pair that is missing raises and names both."""
    assert {state for state, _ in TRANSITIONS} == {"open", "taken", "unanswered"}
    with pytest.raises(KeyError, match=r"closed.*take"):
        next_state("closed", "take")


@pytest.mark.parametrize("step", ["open", "judged", "unanswered", "taken", "closed"])
def test_state_survives_as_json(step):
    """A restart in any state goes on where it was."""
    first = opened().call_out
    judged = advance(first, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, NOW + 11 * MINUTE).call_out
    second = advance(judged, {}, (WREN, ROBIN), BY_TURNS, NOW + 15 * MINUTE).call_out
    states = {
        "open": first,
        "judged": judged,
        "unanswered": advance(second, {}, (WREN, ROBIN), BY_TURNS, NOW + 30 * MINUTE).call_out,
        "taken": take_call_out(second, "wren", NOW).call_out,
        "closed": close_alarm(first, "low:house"),
    }
    call_out = states[step]
    assert call_out.judged is (step == "judged") and call_out.state == ("open" if step == "judged" else step)
    assert CallOut.from_json(json.loads(json.dumps(call_out.as_json()))) == call_out


def test_it_is_looked_at_when_a_message_should_have_arrived():
    """`due` is the time to deliver, then the end of the turn: never a time that has been dealt with."""
    first = opened().call_out
    assert due_at(first, BY_TURNS) == NOW + 10 * MINUTE
    judged = advance(first, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, NOW + 10 * MINUTE)
    assert due_at(judged.call_out, BY_TURNS) == NOW + 15 * MINUTE


def test_who_cannot_take_it_holds_no_turn_up():
    """A landline is told and the next turn with it; after the last turn the whole time is waited all the same."""
    step = opened_for(HALL, ROBIN)
    assert told(step) == [("hall", "first")]
    step = advance(step.call_out, {}, (HALL, ROBIN), BY_TURNS, NOW)
    assert told(step) == [("robin", "next-turn")]
    alone = opened_for(HALL)
    assert not told(advance(alone.call_out, {"hall": "sent"}, (HALL,), BY_TURNS, NOW + 14 * MINUTE))
    assert told(advance(alone.call_out, {"hall": "sent"}, (HALL,), BY_TURNS, NOW + 15 * MINUTE)) == [
        ("hall", "unanswered")
    ]


def test_a_landline_beside_a_mobile_waits_for_the_mobile():
    """In a turn of both, only what became of the mobile's message counts."""
    wren = WREN.model_copy(update={"turn": 1})
    step = opened_for(HALL, wren, ROBIN)
    assert not told(advance(step.call_out, {"hall": "sent", "wren": "delivered"}, (HALL, wren, ROBIN), BY_TURNS, NOW))
    missed = advance(step.call_out, {"hall": "delivered", "wren": "failed"}, (HALL, wren, ROBIN), BY_TURNS, NOW)
    assert told(missed) == [("robin", "next-turn")]


def test_what_joins_is_told_to_those_who_know_and_to_who_has_it():
    """Also to somebody who took it before their turn came."""
    taken = take_call_out(opened().call_out, "robin", NOW + MINUTE).call_out
    joined = raise_alarm(taken, SPRING, "tanks", (WREN, ROBIN), BY_TURNS, NOW + 2 * MINUTE)
    assert sorted(told(joined)) == [("robin", "first"), ("wren", "first")] and joined.call_out.state == "taken"


def test_the_same_trouble_again_is_one_alarm():
    """`ran-dry` of a tank that is low is the same alarm, with its newest event."""
    dry = Alarm(key="low:house", kind="ran-dry", event=9)
    assert raise_alarm(opened().call_out, dry, "tanks", (WREN,), BY_TURNS, NOW).call_out.alarms == (dry,)


def test_an_unanswered_call_out_that_is_joined_is_asked_again():
    """It is open again, everyone hears of it, and it can go unanswered once more."""
    second = advance(opened().call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + 15 * MINUTE).call_out
    quiet = advance(second, {}, (WREN, ROBIN), BY_TURNS, NOW + 30 * MINUTE).call_out
    joined = raise_alarm(quiet, SPRING, "tanks", (WREN, ROBIN), BY_TURNS, NOW + 40 * MINUTE)
    assert joined.call_out.state == "open" and {contact for contact, _ in told(joined)} == {"wren", "robin"}
    again = advance(joined.call_out, {}, (WREN, ROBIN), BY_TURNS, NOW + 55 * MINUTE)
    assert again.call_out.state == "unanswered" and {why for _, why in told(again)} == {"unanswered"}


@pytest.mark.parametrize(("kind", "anew"), [("unread", True), ("low", False)])
def test_an_alarm_that_nothing_ends_is_over_once_somebody_has_it(kind, anew):
    """Where a household calls out for kinds that have no end, the next one is asked anew, turn by turn."""
    alarm = Alarm(key=f"{kind}:x", kind=kind, event=1)
    taken = take_call_out(
        raise_alarm(None, alarm, "tanks", (WREN, ROBIN), BY_TURNS, NOW).call_out, "robin", NOW
    ).call_out
    later = raise_alarm(taken, SPRING, "tanks", (WREN, ROBIN), BY_TURNS, NOW + timedelta(days=1)).call_out
    assert (later.state, later.taken_by, later.opened_at) == (
        ("open", None, NOW + timedelta(days=1)) if anew else ("taken", "robin", NOW)
    )


def test_a_reload_to_everyone_at_once_tells_the_rest():
    """`take_within` taken away while it is open: nobody is left out."""
    step = advance(opened().call_out, {}, (WREN, ROBIN), Table(), NOW + MINUTE)
    assert told(step) == [("robin", "next-turn")]
    assert not told(advance(step.call_out, {}, (WREN, ROBIN), Table(), NOW + 2 * MINUTE))


def test_a_clock_set_back_stops_no_turn():
    """Row 31: the wait starts anew, in full and once."""
    back = NOW - timedelta(days=3650)
    step = advance(opened().call_out, {"wren": "delivered"}, (WREN, ROBIN), BY_TURNS, back)
    assert not told(step) and step.call_out.turn_at == back
    assert told(advance(step.call_out, {}, (WREN, ROBIN), BY_TURNS, back + 15 * MINUTE)) == [("robin", "next-turn")]


def test_a_clock_gone_far_ahead_makes_no_burst():
    """Row 31: ten years later one turn passes, not all of them, and one reminder is due."""
    ahead = NOW + timedelta(days=3650)
    step = advance(opened().call_out, {}, (WREN, ROBIN), BY_TURNS, ahead)
    assert told(step) == [("robin", "next-turn")]
    assert not advance(step.call_out, {}, (WREN, ROBIN), BY_TURNS, ahead + MINUTE).notifications


def test_every_alarm_that_opens_has_its_end():
    """Of the same tank, controller or gateway (that each family has an end: `tests/facts/test_kinds.py`)."""
    for opens, ends, more in [("silent", "heard-again", {"controller": "ridge"}), ("modem-lost", "modem-back", {})]:
        begun, over = (Event(kind=kind, at=NOW, heard_at=NOW, known_at=NOW, id=7, **more) for kind in (opens, ends))
        assert alarm_raised_by(begun).key == key_closed_by(over)


@pytest.mark.parametrize("kind", get_args(EventKind))
def test_a_household_decides_what_is_urgent(kind):
    """`call_out.urgent` replaces the list, also by an empty one."""
    assert is_urgent(kind, Table()) is (kind in URGENT_KINDS)
    assert is_urgent(kind, Table(urgent=("unread",))) is (kind == "unread")
    assert not is_urgent(kind, Table(urgent=()))
