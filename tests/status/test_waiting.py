"""Messages of the outbox: until when quiet hours hold them, and from when on they wait too long."""

from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Message
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.waiting import leaves_when, patience, quiet_for, waits_since
from gateway.storage import open_store
from tests.household import ROBIN, write_config

HALL = 'line = "landline"'
NIGHT = datetime(2026, 11, 25, 12, 30, tzinfo=UTC)
H = timedelta(hours=1)


def landline(folder, quiet):
    """The household with a landline for Robin."""
    return compile_site(load(str(write_config(folder, robin=f'{HALL}\nquiet = "{quiet}"'))).settings)


@contextmanager
def reading(site):
    """An empty record."""
    with closing(open_store(site.settings.store.url, "Quandong Ridge", create=True)) as store, store.read() as reader:
        yield reader


def message_at(now, *, urgent=False, **fields):
    """A message to Robin."""
    return Message(contact="robin", number=ROBIN, text="x", at=now, urgent=urgent, subject="tanks", **fields)


@pytest.mark.parametrize(
    ("quiet", "local", "until"),
    [
        ("", "2026-11-25T23:30+11:00", "2026-11-26T07:00+11:00"),
        ("", "2026-11-25T12:30+11:00", None),
        ("12:00-14:00", "2026-11-25T12:30+11:00", "2026-11-25T14:00+11:00"),
        ("12:00-14:00", "2026-11-25T23:30+11:00", "2026-11-26T07:00+11:00"),
        ("21:00-09:00", "2026-11-25T23:30+11:00", "2026-11-26T09:00+11:00"),
    ],
)
def test_nights_belong_to_the_landline(tmp_path, quiet, local, until):
    """What is not urgent waits for the morning, whatever other quiet hours it has."""
    site = landline(tmp_path, quiet)
    now = datetime.fromisoformat(local).astimezone(UTC)
    message = message_at(now)
    with reading(site) as reader:
        assert quiet_for(reader, site, now)(message) == (datetime.fromisoformat(until) if until else None)


@pytest.mark.parametrize(
    ("now", "urgent", "leaves"),
    [(NIGHT, False, "held"), (NIGHT, True, "now"), (NIGHT - 11 * H, False, "now")],
    ids=["at night", "urgent", "by day"],
)
def test_when_a_message_leaves(tmp_path, now, urgent, leaves):
    """As `explain` says it."""
    site = landline(tmp_path, "")
    with reading(site) as reader:
        assert leaves_when(reader, site, message_at(now, urgent=urgent), now) == leaves


@pytest.mark.parametrize(
    ("fields", "since"),
    [
        ({}, NIGHT),
        ({"state": "sending"}, NIGHT),
        ({"state": "held", "not_before": NIGHT + 3 * H}, NIGHT + 3 * H),
        ({"state": "sending", "not_before": NIGHT + 3 * H}, NIGHT + 3 * H),
        ({"state": "sending", "not_before": NIGHT + 3 * H, "tries": 1}, NIGHT),
        ({"state": "waiting", "not_before": NIGHT + 3 * H, "tries": 1}, NIGHT),
        ({"state": "held", "not_before": NIGHT + 9 * H}, None),
        ({"state": "held"}, None),
    ],
    ids=[
        "waiting",
        "with the modem",
        "held until lately",
        "with the modem after that",
        "with it for a second time",
        "waits for that",
        "still held",
        "held for nobody knows how long",
    ],
)
def test_since_when_a_message_waits(fields, since):
    """While somebody sleeps it does not wait."""
    assert waits_since(message_at(NIGHT, **fields), NIGHT + 4 * H) == since


def test_what_is_urgent_may_wait_for_an_hour_and_the_rest_for_six():
    """Longer is a trouble of the gateway."""
    assert (patience(message_at(NIGHT, urgent=True)), patience(message_at(NIGHT))) == (H, 6 * H)
