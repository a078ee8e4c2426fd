"""The fakes do what tests of the flow rely on."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Delivered, Report
from gateway.ports import Clock, Listed, Modem, SendEnded, SendJob, SlotFreed
from tests.fakes.fake_clock import START, FakeClock
from tests.fakes.fake_modem import NETWORK_TIME, NOT_SENT, SENT, UNSURE, UNSURE_LOST, FakeModem, refused

RIDGE, WREN = "+61491570006", "+61491570156"


def job(number: int = 1) -> SendJob:
    return SendJob(id=number, number=WREN, text="House tank is low", reference=3)


def started() -> tuple[FakeModem, list]:
    modem: Modem = FakeModem()
    news: list = []
    modem.start(news.append)
    news.clear()
    return modem, news


@pytest.mark.parametrize(
    ("move", "wall", "monotonic"),
    [
        (lambda clock: clock.advance(60), START + timedelta(minutes=1), 1060.0),
        (lambda clock: clock.step(timedelta(hours=-1)), START - timedelta(hours=1), 1000.0),
        (lambda clock: clock.step(3600), START + timedelta(hours=1), 1000.0),
        (lambda clock: clock.set(datetime(1970, 1, 1, tzinfo=UTC)), datetime(1970, 1, 1, tzinfo=UTC), 1000.0),
        (lambda clock: clock.reboot(datetime(1970, 1, 1, tzinfo=UTC)), datetime(1970, 1, 1, tzinfo=UTC), 0.0),
    ],
)
def test_clock_moves_as_told(move, wall, monotonic):
    """Time passes for both clocks; a step moves the wall alone."""
    clock: Clock = FakeClock()
    move(clock)
    assert (clock.now(), clock.monotonic()) == (wall, monotonic)


@pytest.mark.parametrize(
    ("outcome", "said", "arrived"),
    [
        (SENT, "sent", 1),
        (refused(38), "refused", 0),
        (UNSURE, "unsure", 1),
        (UNSURE_LOST, "unsure", 0),
        (NOT_SENT, "not-sent", 0),
    ],
)
def test_sends_end_as_scripted(outcome, said, arrived):
    """Each outcome is told once, and people get it or not."""
    modem, news = started()
    modem.outcomes.append(outcome)
    modem.send(job())
    (ended,) = news
    assert isinstance(ended, SendEnded)
    assert (ended.outcome, ended.verdict, len(modem.arrived)) == (
        said,
        "our side" if outcome.code else "later",
        arrived,
    )


def test_slots_are_held_until_freed():
    """A refused delete leaves the slot; a re-used slot is left alone; a power cut loses neither."""
    modem, news = started()
    modem.deliver(RIDGE, "LINE 1 MADE")
    (listed,) = news
    assert isinstance(listed, Listed) and isinstance(listed.held[0].content, Delivered)
    modem.delete_fails = True
    modem.free(listed.held)
    assert news[-1] == SlotFreed(held=listed.held[0], done=False, said="+CMS ERROR: 500")
    modem.delete_fails = False
    modem.reuse(1, "00")
    modem.free(listed.held)
    assert news[-1].done and modem.slots == {("SM", 1): "00"}
    modem.cut()
    again: list = []
    modem.start(again.append)
    assert [held.pdu for held in again[-1].held] == ["00"]


def test_held_news_is_lost_in_a_cut():
    """Between a call and its answer the power can be cut."""
    modem, news = started()
    modem.hold_news = True
    modem.send(job())
    modem.cut()
    assert (news, modem.release(), len(modem.arrived)) == ([], 0, 1)


def test_full_store_waits_in_the_network():
    """What has no room comes once a slot is free."""
    modem, news = started()
    modem.capacity = 1
    modem.deliver(RIDGE, "first")
    modem.deliver(RIDGE, "second")
    assert len(modem.waiting) == 1
    modem.free(news[0].held)
    assert news[-1].held[0].content.text == "second"


@pytest.mark.parametrize(("way", "slot"), [("+CDS", None), ("+CDSI", 1)])
def test_reports_come_either_way(way, slot):
    """A report is told unsolicited or out of a slot."""
    modem, news = started()
    modem.reports = way
    modem.report(WREN, 9, 0x46, zero_discharge=True)
    (held,) = news[-1].held
    assert held.slot == slot
    assert held.content == Report(
        reference=9, number=WREN, outcome="failed", status=0x46, stamp=NETWORK_TIME, discharged=None
    )
