"""A landline: spoken to in full, asked for nothing, and left in peace at night unless it is urgent."""

import re
from datetime import UTC, datetime, timedelta

from gateway.handlers import deliver
from tests.handlers.days import Days
from tests.household import RIDGE, ROBIN, WREN, at_home

NOW = datetime(2026, 11, 25, 1, 30, tzinfo=UTC)
HALL = 'line = "landline"'


def test_a_landline_is_spoken_to(tmp_path):
    """The mobile reads capitals and a clock and may take it; the voice says words, and asks for no reply."""
    with at_home(tmp_path, robin=HALL) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        told = dict(home.sent(2))
        assert re.match(r"House tank LOW since \d\d:\d\d\.", told[WREN]) and "Reply OK" in told[WREN]
        assert re.match(r"House tank has been low since \d+ (oh \d|\d\d|o'clock) (in the|at) ", told[ROBIN])
        assert "Reply" not in told[ROBIN] and not re.search(r"\d:\d", told[ROBIN])


def test_what_a_landline_asks_is_answered_by_a_voice(tmp_path):
    """Its TANKS and WEEK in words, and who took a call-out without capitals."""
    days = Days(tmp_path, robin=HALL, rest="[limits]\nsegments = 3\n")
    days.comes(NOW, "LINE 1 MADE SUPPLY 12.6 V")
    days.leaves(NOW)
    for text in ("TANKS", "WEEK", "OK"):
        days.comes(NOW, text, number=ROBIN)
    replies = [text for number, text in days.outbox() if number == ROBIN]
    days.store.close()
    assert replies[-3:] == [
        "House tank low, 12 30 in the afternoon. Spring tank unknown. Ridge box heard, 12 30 in the afternoon, 12.6 volts.",
        "Seven days. House tank was low 1 time.",
        "You have it: House tank low.",
    ]


def test_a_burst_is_joined_in_sentences(tmp_path):
    """What would be one message too many is heard as one, without strokes."""
    days = Days(tmp_path, robin=HALL, wren="about = []", rest="[limits]\nburst = 1\nsegments = 3\n")
    later = NOW + timedelta(hours=1)
    for now, state in ((NOW, "MADE"), (later, "BROKE")):
        for number in (1, 2):
            days.comes(now, f"LINE {number} {state} 0717")
            if now == NOW:
                days.leaves(NOW + number * timedelta(minutes=11))
    claimed = days.at(later, deliver.claim_next)
    days.store.close()
    assert claimed.job is not None and claimed.job.text.startswith(
        "2 messages. House tank is no longer low, 1 30 in the"
    )
    assert ". Spring tank is no longer low," in claimed.job.text and not re.search(r"/|\d:\d", claimed.job.text)


def test_several_alarms_are_one_message_in_words(tmp_path):
    """Each is named, the house first, without strokes, colons or capitals."""
    days = Days(tmp_path, robin=HALL, wren="about = []")
    for number in (2, 1):
        days.comes(NOW, f"LINE {number} MADE 0717")
    ((_, urgent), (_, soon)) = days.leaves(NOW)
    days.store.close()
    assert urgent.startswith("House tank has been low since 12 30 in the afternoon.")
    assert urgent.endswith("Also. Spring tank low.") and "Spring tank has been low since" in soon
    assert not re.search(r"/|\d:\d", urgent + soon)


def test_a_landline_hears_what_keeps_from_harm_and_whom_to_ring(tmp_path):
    """A voice says more than a segment: the drinking water sentence too, and a name to ring instead of a reply."""
    days = Days(tmp_path, robin=HALL)
    days.comes(NOW, "DRY", number=WREN)
    told = [text for number, text in days.outbox() if number == ROBIN]
    days.store.close()
    assert any(
        "Do not drink the water until it is known to be safe" in text and text.endswith("Please ring Wren.")
        for text in told
    )
