"""An alarm goes turn by turn until somebody has it, comes back when it is not over in time, and is reminded of ever more seldom."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.alarms import rounds
from gateway.alarms.next_step import ASKED_FIRST, ASKED_FIRST_WITHIN, ON_WATCH, next_step
from gateway.facts.alarms import Alarm
from gateway.settings.people_tables import CallOut as Table
from gateway.settings.people_tables import Contact

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
WREN = Contact(id="wren", name="Wren", number="+61491570156", turn=1)
ROBIN = Contact(id="robin", name="Robin", number="+61491570157", turn=2)
HALL = Contact(id="hall", name="Hall", number="+61255500100", line="landline", turn=1)
BOTH = (WREN, ROBIN)
BY_TURNS = Table(take_within=15 * MINUTE, remind_every=60 * MINUTE)
AT_ONCE = Table()


def low(**more):
    """The house tank is low."""
    values = {"key": "low:house", "kind": "low", "tank": "house", "priority": "urgent", "at_stake": True, "id": 1}
    return Alarm(
        **values | {"since": NOW, "raised_at": NOW, "round_at": NOW, "turn_at": NOW, "reminded_at": NOW} | more
    )


def begun(contacts=BOTH, table=BY_TURNS, **more):
    """Its round has just begun."""
    return rounds.begin_round(low(**more), contacts, table, NOW)


def told(step):
    """Who hears of it, and why."""
    return [(notification.contact, notification.why) for notification in step.notifications]


@pytest.mark.parametrize(
    ("priority", "table", "hearers"),
    [
        ("urgent", BY_TURNS, ["wren"]),
        ("urgent", AT_ONCE, ["wren", "robin"]),
        ("soon", BY_TURNS, ["wren", "robin"]),
        ("record", AT_ONCE, []),
    ],
)
def test_who_hears_of_a_new_alarm(priority, table, hearers):
    """Urgent by turns, if there are any; soon everyone, once; on record nobody."""
    step = begun(table=table, priority=priority)
    assert told(step) == [(contact, "first") for contact in hearers]


def test_turn_by_turn_until_unanswered():
    """First turn, second turn, then all hear that nobody took it."""
    first = begun().alarm
    assert not told(rounds.advance(first, {"wren": "delivered"}, BOTH, BY_TURNS, NOW + 14 * MINUTE))
    second = rounds.advance(first, {"wren": "delivered"}, BOTH, BY_TURNS, NOW + 15 * MINUTE)
    assert told(second) == [("robin", "next-turn")]
    both = {"wren": "delivered", "robin": "delivered"}
    last = rounds.advance(second.alarm, both, BOTH, BY_TURNS, NOW + 30 * MINUTE)
    assert last.alarm.state == "unanswered" and told(last) == [("wren", "unanswered"), ("robin", "unanswered")]


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
    step = rounds.advance(begun().alarm, {"wren": delivery}, BOTH, BY_TURNS, NOW + after)
    assert (told(step) == [("robin", "next-turn")]) is moves


def test_who_cannot_take_it_holds_no_turn_up():
    """A landline is told and the next turn with it; after the last turn the whole time is waited all the same."""
    first = begun((HALL, ROBIN))
    assert told(first) == [("hall", "first")]
    assert told(rounds.advance(first.alarm, {"hall": "sent"}, (HALL, ROBIN), BY_TURNS, NOW)) == [("robin", "next-turn")]
    alone = begun((HALL,)).alarm
    assert not told(rounds.advance(alone, {"hall": "sent"}, (HALL,), BY_TURNS, NOW + 14 * MINUTE))
    assert told(rounds.advance(alone, {"hall": "sent"}, (HALL,), BY_TURNS, NOW + 15 * MINUTE)) == [
        ("hall", "unanswered")
    ]


def test_ok_takes_it_and_others_learn():
    """For `taken_for`; then it comes back to who had it, and a turn later to the others."""
    taken = rounds.take(begun(table=AT_ONCE).alarm, "robin", ["wren", "robin"], AT_ONCE, NOW)
    assert told(taken) == [("wren", "taken")]
    assert (taken.alarm.state, taken.alarm.taken_by, taken.alarm.back_at) == ("taken", "robin", NOW + 8 * HOUR)
    back = rounds.come_back(taken.alarm, BOTH, AT_ONCE, NOW + 8 * HOUR, reached=True)
    assert told(back) == [("robin", "came-back")] and back.alarm.turn == ASKED_FIRST and back.alarm.taken_by is None
    later = NOW + 8 * HOUR + ASKED_FIRST_WITHIN
    assert not told(rounds.advance(back.alarm, {"robin": "delivered"}, BOTH, AT_ONCE, later - MINUTE))
    assert told(rounds.advance(back.alarm, {"robin": "delivered"}, BOTH, AT_ONCE, later)) == [("wren", "next-turn")]


def test_who_is_alone_is_asked_once_when_it_comes_back():
    """Not told a moment later that nobody took it."""
    taken = rounds.take(begun((WREN,), AT_ONCE).alarm, "wren", ["wren"], AT_ONCE, NOW).alarm
    back = rounds.come_back(taken, (WREN,), AT_ONCE, NOW + 8 * HOUR, reached=True)
    over = rounds.advance(back.alarm, {"wren": "delivered"}, (WREN,), AT_ONCE, NOW + 9 * HOUR)
    assert told(back) == [("wren", "came-back")] and told(over) == [] and over.alarm.state == "unanswered"


def test_a_taker_who_is_not_reached_has_it_no_more():
    """The others are told at once."""
    taken = rounds.take(begun().alarm, "wren", ["wren"], BY_TURNS, NOW).alarm
    assert not rounds.not_reached(taken, NOW, "sent", BY_TURNS, NOW + 9 * MINUTE)
    assert rounds.not_reached(taken, NOW, "sent", BY_TURNS, NOW + 10 * MINUTE)
    assert rounds.not_reached(taken, NOW, "failed", BY_TURNS, NOW)
    assert not rounds.not_reached(taken, NOW, "delivered", BY_TURNS, NOW + DAY)
    back = rounds.come_back(taken, BOTH, BY_TURNS, NOW + 10 * MINUTE, reached=False)
    assert told(back) == [("robin", "next-turn")]


def test_what_no_water_hangs_on_comes_back_more_seldom():
    """8 h, 16 h, then once a day; a low tank after 8 h each time."""
    waits = {
        at_stake: [
            rounds.take(begun(at_stake=at_stake).alarm, "wren", [], BY_TURNS, NOW, came_back=times).alarm.back_at - NOW
            for times in range(4)
        ]
        for at_stake in (True, False)
    }
    assert waits == {True: [8 * HOUR] * 4, False: [8 * HOUR, 16 * HOUR, DAY, DAY]}


def test_a_worse_alarm_starts_its_own_round_whoever_has_it():
    """What somebody took is no longer what there is."""
    taken = rounds.take(begun().alarm, "wren", ["wren"], BY_TURNS, NOW).alarm
    worse = rounds.worsen(replace(taken, kind="ran-dry"), BOTH, BY_TURNS, NOW + HOUR)
    # nobody should drink of dry taps, whosever turn it is
    assert told(worse) == [("wren", "worse"), ("robin", "warned")] and (worse.alarm.state, worse.alarm.taken_by) == (
        "open",
        None,
    )


@pytest.mark.parametrize(
    ("taker", "table", "called"),
    [
        ("wren", BY_TURNS, ["wren", "robin"]),
        ("robin", BY_TURNS, ["robin", "wren"]),
        ("wren", AT_ONCE, ["wren", "robin"]),
        (None, BY_TURNS, ["wren", "robin"]),
    ],
)
def test_the_second_call_goes_to_who_has_it_and_the_next_turn(taker, table, called):
    """Even after an OK; nobody has it then until somebody says so again."""
    alarm = replace(begun().alarm, warn_at=NOW)
    if taker is not None:
        alarm = rounds.take(alarm, taker, [], table, NOW).alarm
    again = rounds.call_again(alarm, {"wren": "delivered"}, BOTH, table, NOW + HOUR)
    assert told(again) == [(contact, "second-call") for contact in called]
    assert (again.alarm.state, again.alarm.warn_at, again.alarm.taken_by) == ("open", None, None)


def test_no_passes_it_on_at_once():
    """Whose turn it is, and who has it; after the last of them nobody is left."""
    first = begun().alarm
    passed = rounds.decline(first, "wren", {"wren": "delivered"}, BOTH, BY_TURNS, NOW)
    assert told(passed) == [("robin", "next-turn")]
    last = rounds.decline(passed.alarm, "robin", {"wren": "sent", "robin": "sent"}, BOTH, BY_TURNS, NOW)
    assert last.alarm.state == "unanswered"
    taken = rounds.take(first, "robin", ["wren"], BY_TURNS, NOW).alarm
    given_back = rounds.decline(taken, "robin", {"wren": "sent"}, BOTH, BY_TURNS, NOW)
    assert told(given_back) == [("wren", "next-turn")] and given_back.alarm.taken_by is None


def test_reminders_back_off_and_end_in_one_a_day():
    """After one, two and four hours, then daily; none where somebody has it, and none of what is not urgent."""
    alarm, at, waits = begun().alarm, NOW, []
    for _ in range(6):
        step = next_step(replace(alarm, state="unanswered"), BY_TURNS)
        assert step.what == "reminder" and rounds.reminder_due(alarm, BY_TURNS, step.at)
        assert not rounds.reminder_due(alarm, BY_TURNS, step.at - MINUTE)
        waits.append(step.at - at)
        alarm, at = rounds.reminded(alarm, step.at), step.at
    assert waits == [HOUR, 2 * HOUR, 4 * HOUR, DAY, DAY, DAY]
    assert not rounds.reminder_due(rounds.take(alarm, "wren", [], BY_TURNS, at).alarm, BY_TURNS, at + DAY)
    assert not rounds.reminder_due(replace(alarm, priority="soon"), BY_TURNS, at + DAY)


def test_a_clock_set_back_stops_no_turn():
    """Row 31: the wait starts anew, in full and once."""
    back = NOW - 3650 * DAY
    step = rounds.advance(begun().alarm, {"wren": "delivered"}, BOTH, BY_TURNS, back)
    assert not told(step) and step.alarm.turn_at == back
    assert told(rounds.advance(step.alarm, {"wren": "delivered"}, BOTH, BY_TURNS, back + 15 * MINUTE)) == [
        ("robin", "next-turn")
    ]


def test_a_clock_gone_far_ahead_makes_no_burst():
    """Row 31: ten years later one turn passes, not all of them."""
    ahead = NOW + 3650 * DAY
    step = rounds.advance(begun().alarm, {"wren": "delivered"}, BOTH, BY_TURNS, ahead)
    assert told(step) == [("robin", "next-turn")]
    told_both = {"wren": "delivered", "robin": "delivered"}
    assert not rounds.advance(step.alarm, told_both, BOTH, BY_TURNS, ahead + MINUTE).notifications


def test_a_reload_to_everyone_at_once_tells_the_rest():
    """`take_within` taken away while it is open: nobody is left out."""
    step = rounds.advance(begun().alarm, {"wren": "delivered"}, BOTH, AT_ONCE, NOW + MINUTE)
    assert told(step) == [("robin", "next-turn")]


FINCH = Contact(id="finch", name="Finch", number="+61491570158", turn=1)
WATCH = FINCH.model_copy(update={"turn": ON_WATCH})
WATCHED = (*BOTH, WATCH)


@pytest.mark.parametrize(
    ("priority", "table", "hearers", "turn"),
    [
        ("urgent", BY_TURNS, ["finch"], ON_WATCH),
        ("urgent", AT_ONCE, ["finch"], ON_WATCH),
        ("soon", BY_TURNS, ["wren", "robin", "finch"], 1),
        ("record", AT_ONCE, [], 1),
    ],
)
def test_who_has_the_watch_is_called_alone_at_first(priority, table, hearers, turn):
    """Of what calls people out; the rest goes to all."""
    step = begun(WATCHED, table, priority=priority)
    assert (told(step), step.alarm.turn) == ([(contact, "first") for contact in hearers], turn)


@pytest.mark.parametrize(
    ("table", "waits", "then"),
    [(BY_TURNS, 15 * MINUTE, ["wren"]), (AT_ONCE, ASKED_FIRST_WITHIN, ["wren", "robin"])],
)
def test_after_the_watch_come_the_turns(table, waits, then):
    """Once its time is over, and not before; the next step says when."""
    alarm = begun(WATCHED, table).alarm
    known = {"finch": "delivered"}
    assert next_step(alarm, table).at == NOW + waits
    assert not told(rounds.advance(alarm, known, WATCHED, table, NOW + waits - timedelta(seconds=1)))
    later = rounds.advance(alarm, known, WATCHED, table, NOW + waits)
    assert told(later) == [(contact, "next-turn") for contact in then] and later.alarm.turn == 1


def test_who_gets_the_watch_later_is_called_before_further_turns():
    """Whatever turn was reached, and also of one that comes back or that nobody took."""
    reached = low(turn=2, state="unanswered")
    step = rounds.next_turn(reached, {"wren", "robin"}, WATCHED, BY_TURNS, NOW)
    assert (told(step), step.alarm.turn, step.alarm.state) == ([("finch", "next-turn")], ON_WATCH, "unanswered")
    taken = low(state="taken", taken_by="wren", taken_at=NOW)
    assert told(rounds.come_back(taken, WATCHED, BY_TURNS, NOW, reached=False)) == [("finch", "next-turn")]
    assert told(rounds.decline(taken, "wren", {}, WATCHED, BY_TURNS, NOW)) == [("finch", "next-turn")]
    assert {contact for contact, _ in told(rounds.call_again(taken, {"wren"}, WATCHED, BY_TURNS, NOW))} == {
        "wren",
        "robin",
        "finch",
    }


def test_a_watch_that_changed_ends_its_turn():
    """Whoever had it was told; whoever has it now is called at once."""
    alarm = begun(WATCHED).alarm
    other = (*BOTH, FINCH, WATCH.model_copy(update={"id": "heron"}))
    assert told(rounds.advance(alarm, {"finch": "delivered"}, other, BY_TURNS, NOW + MINUTE)) == [
        ("heron", "next-turn")
    ]
