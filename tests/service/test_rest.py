"""While nothing happens nothing is written: an SD card lives by the writes it is spared."""

from datetime import timedelta

from tests.faults.board import Board
from tests.household import RIDGE


def test_at_rest_nothing_is_written(tmp_path):
    """From the last message's report on: not one transaction that writes until the controller's silence is due."""
    board = Board(tmp_path)
    board.start()
    board.hears(RIDGE, "STATION WELL 1")
    board.pass_time(timedelta(minutes=30))
    before = board.plug.names.count("after commit")
    assert before
    board.pass_time(timedelta(hours=24))
    assert board.plug.names.count("after commit") == before
    board.pass_time(timedelta(hours=3))
    assert board.events("silent") and board.plug.names.count("after commit") > before
    board.cut()
