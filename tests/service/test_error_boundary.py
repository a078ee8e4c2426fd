"""What was done is done, also where the store fails just after it."""

from functools import partial

from gateway.errors import StoreFull
from gateway.handlers import gateway_life
from tests.faults.board import board
from tests.household import RIDGE, WREN


def test_an_answer_is_stored_once_where_the_store_works_by_turns(tmp_path, monkeypatch):
    """There is room for the answer and not for the words that there is room again: it is not handled anew once there is."""
    with board(tmp_path) as home:
        home.modem.hold_news = True
        home.modem.deliver(RIDGE, "LINE 1 MADE 0717")
        home.modem.release(1)
        home.settle()
        home.store.broken = StoreFull("no room")
        home.daemon.tell("reload")
        home.settle()
        home.store.broken = None
        back = gateway_life.store_back
        monkeypatch.setattr(gateway_life, "store_back", partial(raising, StoreFull("no room again")))
        home.modem.release()
        home.settle()
        monkeypatch.setattr(gateway_life, "store_back", back)
        assert "SendEnded" not in [type(news).__name__ for news in home.daemon._outage.heal()]
        assert len([text for text in home.arrived(WREN) if "LOW" in text]) == 1


def raising(wrong, *_):
    """Whatever it is asked for."""
    raise wrong
