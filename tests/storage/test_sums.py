"""Sums that the database makes: of this site, within their bounds, and the same as the rows themselves would give."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event, Message

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
VOLTS = ((0, 12.6), (5, 13.4), (6, 0.2), (23, 12.5), (24, 12.9), (49, 99.0), (72, 12.1))
"""Hours from the start, and what was read; two of them no 12 V box can show."""


@pytest.fixture(autouse=True)
def filled(store, opened):
    """Readings, low episodes and messages of one site, and some of another."""
    with store.write() as tx:
        for hours, volts in VOLTS:
            tx.keep_event(event("reading", NOW + hours * HOUR, controller="ridge", volts=volts))
        for days, lasted in ((1, 3600.0), (2, 7200.0), (3, 60.0)):
            tx.keep_event(event("low-over", NOW + days * DAY, tank="house", lasted_s=lasted))
        tx.keep_event(event("low-over", NOW + DAY, tank="house", first=True))
        tx.keep_event(event("low-over", NOW + DAY, tank="spring", lasted_s=5.0))
        for days, state in ((0, "delivered"), (1, "sent"), (1, "unsure"), (2, "failed"), (3, "delivered")):
            message = tx.put_message(Message(contact="wren", number="+61491570156", text="x", at=NOW, segments=2))
            tx.change_message(message.id, state=state, at=NOW + days * DAY)
    with opened("Creek Flat").write() as tx:
        tx.keep_event(event("low-over", NOW - DAY, tank="house", lasted_s=9.0))
        tx.keep_event(event("reading", NOW, controller="ridge", volts=11.0))


def event(kind, at, tank=None, controller=None, **detail):
    """An event that is known at once."""
    return Event(kind=kind, at=at, heard_at=at, known_at=at, tank=tank, controller=controller, detail=detail)


def test_the_lowest_and_highest_of_each_day(store):
    """Days count from the given start; a day without a believable reading is left out."""
    with store.read() as reader:
        found = reader.numbers_by_day("volts", "ridge", NOW, NOW + 3 * DAY, within=(7.2, 18.0))
    assert [(day.day, day.low, day.high) for day in found] == [(NOW, 12.5, 13.4), (NOW + DAY, 12.9, 12.9)]


def test_segments_handed_over_within_a_time(store):
    """The beginning counts, the end does not, nor does what failed."""
    with store.read() as reader:
        assert reader.segments_between(NOW, NOW + 3 * DAY) == 6
        assert reader.segments_between(NOW + DAY, NOW + 2 * DAY) == 4
        assert reader.segments_between(NOW, NOW + 4 * DAY) == reader.sent_since(NOW)


@pytest.mark.parametrize(("tank", "count", "seconds"), [("house", 2, 10800), ("spring", 1, 5), (None, 3, 10805)])
def test_episodes_that_ended_within_a_time(store, tank, count, seconds):
    """How many and how long together; the first idle reading ends no episode."""
    with store.read() as reader:
        found = reader.episodes_between("low-over", NOW, NOW + 3 * DAY, tank=tank)
    assert (found.count, found.lasted) == (count, timedelta(seconds=seconds))


def test_each_site_answers_for_itself(store):
    """The history's beginning and counts are of the site that is asked."""
    with store.read() as reader:
        assert reader.sites() == ("Creek Flat", "Quandong Ridge")
        assert reader.first_event_at() == NOW
        other = reader.of_site("Creek Flat")
        assert other.first_event_at() == NOW - DAY
        assert (reader.counted(("low-over",), NOW, NOW + 9 * DAY), other.counted(("low-over",), NOW - DAY, NOW)) == (
            5,
            1,
        )
        assert reader.of_site("Nowhere").first_event_at() is None
