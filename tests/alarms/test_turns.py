"""Steps of a round one by one, with three contacts and one who has the watch: whose turn is next, and who counts as told."""

from dataclasses import replace

import pytest

from gateway.alarms import rounds
from gateway.alarms.next_step import ON_WATCH, reminder_wait
from gateway.settings.people_tables import Contact
from tests.alarms.test_rounds import AT_ONCE, BY_TURNS, DAY, HOUR, MINUTE, NOW, ROBIN, WREN, low, told

FINCH = Contact(id="finch", name="Finch", number="+61491570158", turn=3)
WATCH = Contact(id="heron", name="Heron", number="+61491570159").model_copy(update={"turn": ON_WATCH})
THREE = (WREN, ROBIN, FINCH)


@pytest.mark.parametrize(
    ("more", "known", "contacts", "table", "called", "state", "turn"),
    [
        ({}, ["wren"], THREE, BY_TURNS, ["robin"], "open", 2),
        ({}, ["wren"], THREE, AT_ONCE, ["robin", "finch"], "open", 2),
        ({"priority": "soon"}, ["wren"], THREE, BY_TURNS, ["robin", "finch"], "open", 2),
        ({"turn": 2}, ["wren", "robin"], THREE, BY_TURNS, ["finch"], "open", 3),
        ({"turn": 2}, [], THREE, BY_TURNS, ["finch"], "open", 3),
        ({"state": "unanswered"}, ["wren"], THREE, BY_TURNS, ["robin"], "unanswered", 2),
        # who has the watch comes first, alone
        ({"turn": 2}, ["wren", "robin"], (*THREE, WATCH), BY_TURNS, ["heron"], "open", ON_WATCH),
        ({"turn": 2}, ["wren", "robin"], (*THREE, WATCH), AT_ONCE, ["heron"], "open", ON_WATCH),
        ({"turn": 2}, ["wren", "robin", "heron"], (*THREE, WATCH), BY_TURNS, ["finch"], "open", 3),
        # nobody is left
        ({"turn": 3}, ["wren", "robin", "finch"], THREE, BY_TURNS, ["wren", "robin", "finch"], "unanswered", 3),
        ({"turn": 3, "state": "unanswered"}, ["wren", "robin", "finch"], THREE, BY_TURNS, [], "unanswered", 3),
        ({"turn": 3, "priority": "soon"}, ["wren", "robin", "finch"], THREE, BY_TURNS, [], "open", 3),
        ({"turn": 0, "priority": "soon"}, ["wren"], (WREN,), BY_TURNS, [], "open", 1),
        ({"turn": 0, "asked_first": "wren"}, ["wren"], (WREN,), BY_TURNS, [], "unanswered", 0),
        ({"turn": 1}, ["wren"], (WREN,), BY_TURNS, ["wren"], "unanswered", 1),
        (
            {"turn": 2, "asked_first": "wren"},
            ["wren", "robin"],
            (WREN, ROBIN),
            BY_TURNS,
            ["wren", "robin"],
            "unanswered",
            2,
        ),
    ],
)
def test_whose_turn_is_next(more, known, contacts, table, called, state, turn):
    """The next that has somebody who does not know; after the last nobody took it, and whoever was told hears that."""
    step = rounds.next_turn(low(**more), known, contacts, table, NOW + HOUR)
    why = "unanswered" if turn == more.get("turn", 1) else "next-turn"
    assert told(step) == [(contact, why) for contact in called]
    assert (step.alarm.state, step.alarm.turn) == (state, turn)


@pytest.mark.parametrize(
    ("more", "after", "called"),
    [
        ({}, 15 * MINUTE, ["robin"]),
        ({}, 14 * MINUTE, []),
        ({"state": "unanswered"}, DAY, []),
        ({"state": "taken"}, DAY, []),
        ({"state": "taken", "turn": 0}, DAY, []),
        ({"priority": "soon"}, DAY, []),
        ({"priority": "soon", "turn": 0, "asked_first": "wren"}, 15 * MINUTE, ["robin", "finch"]),
        ({"priority": "soon", "turn": 0, "asked_first": "wren"}, 14 * MINUTE, []),
    ],
)
def test_when_a_turn_passes_by_itself(more, after, called):
    """Of an open alarm that is urgent; of any other only that of who had it before."""
    step = rounds.advance(low(**more), {"wren": "delivered"}, THREE, BY_TURNS, NOW + after)
    assert [contact for contact, _ in told(step)] == called


@pytest.mark.parametrize(("after", "judged"), [(9 * MINUTE, False), (10 * MINUTE, True)])
def test_when_it_was_looked_at_what_became_of_the_messages(after, judged):
    """Once they had their time."""
    assert rounds.advance(low(), {"wren": "delivered"}, THREE, BY_TURNS, NOW + after).alarm.judged is judged


@pytest.mark.parametrize(
    ("taker", "contacts", "table", "called", "turn"),
    [
        ("wren", THREE, BY_TURNS, ["wren", "robin"], 2),
        ("robin", THREE, BY_TURNS, ["robin", "finch"], 3),
        ("finch", THREE, BY_TURNS, ["finch", "wren"], 1),
        ("wren", THREE, AT_ONCE, ["wren", "robin", "finch"], 2),
        ("wren", (WREN, ROBIN, FINCH, WATCH), BY_TURNS, ["wren", "robin", "heron"], 2),
        ("gone", THREE, BY_TURNS, ["robin", "finch"], 3),
        (None, THREE, BY_TURNS, ["robin", "finch"], 3),
        ("wren", (WREN,), BY_TURNS, ["wren"], 1),
    ],
)
def test_whom_the_second_call_goes_to(taker, contacts, table, called, turn):
    """Who has it, else who was told (here the second), and the turn after theirs; who has the watch, too."""
    alarm = low(state="taken" if taker else "open", taken_by=taker)
    step = rounds.call_again(alarm, {"robin"}, contacts, table, NOW + HOUR)
    assert told(step) == [(contact, "second-call") for contact in called]
    assert step.alarm.turn == turn


def test_what_waits_while_somebody_sleeps():
    """Its coming back, where somebody has it; else its reminder."""
    taken = low(state="taken", back_at=NOW)
    assert rounds.put_off(taken, NOW + HOUR, BY_TURNS) == replace(taken, back_at=NOW + HOUR)
    nobodys = rounds.put_off(low(state="unanswered"), NOW + 9 * HOUR, BY_TURNS)
    assert nobodys.back_at is None and nobodys.reminded_at + reminder_wait(nobodys, BY_TURNS) == NOW + 9 * HOUR


@pytest.mark.parametrize(("state", "back_at"), [("open", None), ("folded", None), ("taken", NOW)])
def test_an_alarm_that_its_cause_tells_of(state, back_at):
    """Folded already, it goes with the new cause."""
    folded = rounds.fold(low(state=state, back_at=back_at, warn_at=NOW), low(id=7))
    assert (folded.state, folded.folded_in, folded.back_at, folded.warn_at) == ("folded", 7, None, None)


@pytest.mark.parametrize(
    ("sent_after", "delivery", "taken_after", "missed"),
    [
        (0 * MINUTE, "failed", 0 * MINUTE, True),
        (0 * MINUTE, "delivered", 0 * MINUTE, False),
        (0 * MINUTE, "sent", 0 * MINUTE, True),
        (0 * MINUTE, "waiting", None, True),
        (5 * MINUTE, "sent", None, False),
        (5 * MINUTE, "sent", 0 * MINUTE, False),
        (0 * MINUTE, "sent", 5 * MINUTE, False),
    ],
)
def test_who_counts_as_not_told(sent_after, delivery, taken_after, missed):
    """Ten minutes after the message left and the alarm was taken, whichever came later; at once where it failed."""
    alarm = low(state="taken", taken_at=None if taken_after is None else NOW + taken_after)
    assert rounds.not_reached(alarm, NOW + sent_after, delivery, BY_TURNS, NOW + 10 * MINUTE) is missed
