"""Rows 8, 20, 22, 24 of the fault table: the plug pulled between any two steps, and sends whose fate nobody knows.

The invariants of the table, checked after each trial: no accepted text lost, no event twice, no repeat unmarked.
"""

import random
from collections import Counter
from datetime import timedelta

import pytest

from tests.fakes.fake_modem import SENT, UNSURE, UNSURE_LOST
from tests.faults.board import REPEAT, UNLIMITED, Board, Fresh, switch
from tests.household import RIDGE, ROBIN, WREN

RETRY = timedelta(minutes=3)

NO_REPORTS = "delivery_reports = false"
"""Else that nothing is delivered is told in between."""


def story(board: Board) -> None:
    """Texts of every sort come while the gateway works: a low tank, parts of a long text, an order, a report."""
    board.start()
    board.hears(RIDGE, "LINE 1 MADE 0717")
    board.modem.deliver(RIDGE, "WHAT NOBODY READS " + "x" * 200)
    board.hears(WREN, "OK")
    board.clock.advance(timedelta(minutes=10))
    board.hears(RIDGE, "LINE 1 BROKE 0727")


TEXTS = {"LINE 1 MADE 0717", "WHAT NOBODY READS " + "x" * 200, "OK", "LINE 1 BROKE 0727"}


def story_goes_on(board: Board) -> None:
    """After the cut: what of the story has not come yet, comes."""
    board.start()
    come = {text.text for text in board.texts("in")}
    for sender, text in ((RIDGE, "LINE 1 MADE 0717"), (WREN, "OK"), (RIDGE, "LINE 1 BROKE 0727")):
        if text not in come:
            board.hears(sender, text)


def holds(board: Board, cuts: int) -> None:
    """What the table always wants, once everything has come to rest."""
    assert not board.modem.slots, "every slot is free"
    got = [text.text for text in board.texts("in")]
    assert len(got) == len(set(got)), f"a text is stored twice: {got}"
    kinds = [event.kind for event in board.events("low", "low-over", "unread", "taken")]
    assert len(kinds) == len(set(kinds)), f"an event is stored twice: {kinds}"
    assert all(count == 1 for count in Counter((message.number, message.text) for message in board.unmarked()).values())
    assert sum(text.text.startswith(REPEAT) for text in board.modem.arrived) <= cuts
    assert not [text for text in board.texts("out") if text.state in ("waiting", "sending", "unsure")]


def steps_of(fresh: Fresh) -> int:
    """How many steps the story has."""
    board = fresh.board()
    story(board)
    steps = board.plug.steps
    holds(board, 0)
    assert {text.text for text in board.texts("in")} == TEXTS
    board.cut()
    return steps


def test_row_20_cut_between_any_two_steps(tmp_path):
    """The receive and deliver flows are stopped after every single step, for every prefix, and started on what is left."""
    fresh = Fresh(tmp_path)
    for step in range(1, steps_of(fresh) + 1):
        board = fresh.board()
        board.cut_after(step)
        assert board.run_cut(lambda board=board: story(board)), f"step {step} was reached"
        story_goes_on(board)
        board.pass_time(RETRY, at_least_s=31)
        holds(board, 1)
        _all_known(board, step)
        board.cut()


@pytest.mark.parametrize("share", range(4))
def test_row_20_cut_again_and_again(tmp_path, share, seed, trials):
    """Two or three cuts in one story, at seeded steps, with time in between."""
    fresh, rng = Fresh(tmp_path), random.Random(f"{seed} {share}")
    steps = steps_of(fresh)
    for trial in range((trials(4000) - steps) // 4 + 1):
        board = fresh.board()
        cuts, work = 0, story
        for _ in range(rng.randrange(2, 4)):
            board.cut_after(rng.randrange(1, steps))
            if not board.run_cut(lambda board=board, work=work: work(board)):
                board.cut()
            else:
                cuts += 1
            work = story_goes_on
            board.clock.advance(rng.choice([0.5, 40, 4000]))
        story_goes_on(board)
        board.pass_time(timedelta(hours=1), at_least_s=900)
        holds(board, cuts)
        _all_known(board, trial)
        board.cut()


def _all_known(board: Board, where: int) -> None:
    """What the modem had taken is in the store, whatever was cut; a part that came alone is shown after its time."""
    wanted = {"LINE 1 MADE 0717", "LINE 1 BROKE 0727", "OK"}
    assert wanted <= {text.text for text in board.texts("in")}, where
    low, over = board.events("low"), board.events("low-over")
    assert len(low) == 1 and len(over) == 1, where
    for number in (WREN, ROBIN):
        assert any("LOW" in text for text in board.arrived(number)), where


def test_row_22_boot_loop(tmp_path, trials):
    """Killed ten seconds after each start: each run gets one text further, and nobody is told of the loop each time."""
    fresh = Fresh(tmp_path)
    board = fresh.board()
    for number in range(trials(50)):
        board.modem.deliver(RIDGE, f"STATION WELL {number}")
        board.start()
        board.pass_time(timedelta(seconds=10))
        assert len([text for text in board.texts("in")]) == number + 1, "progress at each"
        board.cut()
    board.start()
    assert board.arrived() == []
    board.cut()


@pytest.mark.parametrize("outcome", [UNSURE, UNSURE_LOST], ids=["arrived", "lost"])
def test_row_08_fate_of_a_send_unknown(tmp_path, outcome, trials):
    """The answer is lost: `unsure`, then sent again, marked; at most three times in all."""
    board = Fresh(tmp_path).board(line=NO_REPORTS, rest=UNLIMITED)
    board.start()
    for number in range(trials(500) // 2):
        board.modem.arrived.clear()
        board.modem.outcomes.extend([outcome, SENT])
        board.hears(RIDGE, switch(number))
        assert [text.state for text in board.texts("out")][-2:].count("unsure") == 1
        board.pass_time(timedelta(minutes=20))
        first = [text for text in board.modem.arrived if text.number == WREN]
        marked = [message.text.startswith(REPEAT) for message in first]
        assert marked == ([False, True] if outcome.arrives else [True])
        assert all(text.state in ("sent", "delivered") for text in board.texts("out"))
    board.cut()


def test_row_24_killed_between_send_and_mark(tmp_path, seed, trials):
    """Cut right after the modem took a message: it comes once more, marked, and only once."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(2000)):
        board = fresh.board()
        board.start()
        board.modem.deliver(RIDGE, "LINE 1 MADE 0717")
        board.cut_at(*rng.choice([("after send",), ("after send", "before commit"), ("before send", "before commit")]))
        assert board.run_cut(board.settle)
        handed = len(board.modem.arrived)
        board.start()
        board.pass_time(RETRY, at_least_s=31)
        repeats = [text for text in board.arrived() if text.startswith(REPEAT)]
        assert len(repeats) <= 1 and len(board.arrived()) <= handed + 2
        holds(board, 1)
        board.cut()


def test_row_13_delete_fails_over_restarts(tmp_path, seed, trials):
    """The slot cannot be freed, while texts come and the gateway starts again: one event each; freed once the modem obeys."""
    rng = random.Random(seed)
    board = Fresh(tmp_path).board(rest=UNLIMITED)
    board.start()
    board.modem.delete_fails = True
    for number in range(trials(500)):
        board.hears(RIDGE, switch(number))
        if rng.random() < 0.3:
            board.cut()
            board.start()
        board.modem.sweep()
        board.settle()
        assert len(board.texts("in")) == number + 1
        if len(board.modem.slots) > 20:
            board.modem.delete_fails = False
            board.modem.sweep()
            board.settle()
            assert not board.modem.slots
            board.modem.delete_fails = True
    board.cut()
