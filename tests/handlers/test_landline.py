"""A landline: spoken to in full, asked for nothing, and left in peace at night unless it is urgent."""

import re
from datetime import UTC, datetime

import pytest

from gateway.facts import Message
from gateway.handlers import deliver
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.waiting import quiet_for
from tests.handlers.days import Days
from tests.household import RIDGE, ROBIN, WREN, at_home, write_config

NOW = datetime(2026, 11, 25, 1, 30, tzinfo=UTC)
HALL = 'line = "landline"'


def test_a_landline_is_spoken_to(tmp_path):
    """The mobile reads capitals and a clock and may take it; the voice says words, and asks for no reply."""
    with at_home(tmp_path, robin=HALL) as home:
        home.modem.network.deliver(RIDGE, "ZONE 1 OPEN 0717")
        told = dict(home.sent(2))
        assert re.match(r"House tank is LOW since \d\d:\d\d\.", told[WREN]) and "Reply OK" in told[WREN]
        assert re.match(r"House tank is low since \d+ (oh \d|\d\d|o'clock) (in the|at) ", told[ROBIN])
        assert "Reply" not in told[ROBIN] and not re.search(r"\d:\d", told[ROBIN])


def test_what_a_landline_asks_is_answered_by_a_voice(tmp_path):
    """Its TANKS and WEEK in words, and who took a call-out without capitals."""
    days = Days(tmp_path, robin=HALL, rest="[limits]\nsegments = 3\n")
    days.comes(NOW, "ZONE 1 OPEN SUPPLY 12.6 V")
    for text in ("TANKS", "WEEK", "OK"):
        days.comes(NOW, text, number=ROBIN)
    said = [text for number, text in days.outbox() if number == ROBIN]
    days.store.close()
    assert said[-3:] == [
        "House tank low, 12 30 in the afternoon. Spring tank unknown. Ridge box heard, 12 30 in the afternoon, 12.6 volts.",
        "Seven days. House tank was low 1 time.",
        "You have it: House tank low.",
    ]


def test_a_burst_is_joined_in_sentences(tmp_path):
    """What would be one message too many is heard as one, without strokes."""
    days = Days(tmp_path, robin=HALL, wren="about = []", rest="[limits]\nburst = 1\nsegments = 3\n")
    for number in (1, 2):
        days.comes(NOW, f"ZONE {number} OPEN 0717")
    claimed = days.at(NOW, deliver.claim_next)
    days.store.close()
    assert claimed.job is not None and claimed.job.text.startswith("2 messages. House tank is low since 12 30 in the")
    assert ". Spring tank is low since" in claimed.job.text and not re.search(r"/|\d:\d", claimed.job.text)


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
    site = compile_site(load(str(write_config(tmp_path, robin=f'{HALL}\nquiet = "{quiet}"'))).settings)
    now = datetime.fromisoformat(local).astimezone(UTC)
    message = Message(contact="robin", number=ROBIN, text="x", at=now, urgent=False, subject="tanks", segments=1)
    assert quiet_for(site, now)(message) == (datetime.fromisoformat(until) if until else None)
