"""Cards that the chain hangs on: told 30, 7 and 1 days before they are cut off, once each."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.cards import tell_of_cards
from gateway.status.cards import owner
from tests.handlers.days import Days

NOON = datetime(2026, 7, 1, 0, 0, tzinfo=UTC)
DAY = timedelta(days=1)
CARDS = """
[[sims]]
id = "ridge-sim"
name = "The box's card"
use_every = "180d"
[[sims]]
id = "own"
name = "The gateway's card"
expires = "2026-08-15"
"""


@pytest.fixture
def days(tmp_path):
    """The household, with a card in the box and one in the gateway."""
    made = Days(tmp_path, rest=CARDS, wren='about = ["gateway"]')
    yield made
    made.store.close()


def told_on(days, first, many):
    """(kind, day) of what was told, looking once a day."""
    for day in range(many):
        days.at(first + day * DAY, tell_of_cards)
    return [(event.kind, event.at.date().isoformat()) for event in days.events("card-expires", "card-use")]


def test_told_before_it_expires(days):
    """At 30, 7 and 1 days, and when it is past; each once, to whom the gateway concerns."""
    expected = ["2026-07-16", "2026-08-08", "2026-08-14", "2026-08-16"]
    assert told_on(days, NOON, 60) == [("card-expires", day) for day in expected]
    assert days.outbox()[0] == (
        "+61491570156",
        "The gateway's card expires on 15 August 2026. Renew it, or the chain breaks there.",
    )


def test_a_look_that_was_missed_is_made_up(days):
    """The gateway was off for a month: what is due is told, not what was."""
    assert told_on(days, datetime(2026, 8, 12, tzinfo=UTC), 1) == [("card-expires", "2026-08-12")]


def test_a_card_that_sends_is_good_again(days):
    """The box is heard: its card was used, and the days begin anew."""
    days.comes(NOON)
    first = [event for event in told_on(days, NOON, 152) if event[0] == "card-use"]
    assert first == [("card-use", "2026-11-28")]
    days.comes(NOON + 152 * DAY)
    later = [event for event in told_on(days, NOON + 153 * DAY, 151) if event[0] == "card-use"]
    assert later == [("card-use", "2026-11-28"), ("card-use", "2027-04-29")]


def test_one_never_used_is_not_known_to_end(days):
    """Nothing is said of what is not known."""
    assert [kind for kind, _ in told_on(days, NOON, 200)].count("card-use") == 0


def test_whose_card_it_is(days):
    """A controller's by its id within the card's, or its name; else the gateway's."""
    ridge, own = days.site.settings.sims
    assert (owner(days.site, ridge).id, owner(days.site, own)) == ("ridge", None)
