"""A landline: spoken to in full, asked for nothing, and left in peace at night unless it is urgent."""

import re
from datetime import UTC, datetime

import pytest

from gateway.facts import Message
from gateway.flow.deliver import quiet_for
from gateway.flow.house import furnish
from gateway.settings.load import load
from tests.household import RIDGE, ROBIN, WREN, at_home, write_config

HALL = 'line = "landline"'


def test_a_landline_is_spoken_to(tmp_path):
    """The mobile reads capitals and a clock and may take it; the voice says words, and asks for no reply."""
    with at_home(tmp_path, robin=HALL) as home:
        home.modem.network.deliver(RIDGE, "ZONE 1 OPEN 0717")
        told = dict(home.sent(2))
        assert re.match(r"House tank is LOW since \d\d:\d\d\.", told[WREN]) and "Reply OK" in told[WREN]
        assert re.match(r"House tank is low since \d+ (oh \d|\d\d|o'clock) (in the|at) ", told[ROBIN])
        assert "Reply" not in told[ROBIN] and not re.search(r"\d:\d", told[ROBIN])


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
    house = furnish(load(str(write_config(tmp_path, robin=f'{HALL}\nquiet = "{quiet}"'))).settings)
    now = datetime.fromisoformat(local).astimezone(UTC)
    message = Message(contact="robin", number=ROBIN, text="x", at=now, urgent=False, subject="tanks", segments=1)
    assert quiet_for(house, now)(message) == (datetime.fromisoformat(until) if until else None)
