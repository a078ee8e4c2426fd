"""The early edge that was told of a tank at the taps stands until it is there: in reminders and in the second call alike."""

import re
from datetime import UTC, datetime, timedelta

from gateway.status.alarms_listed import alarms_listed
from gateway.status.forecast import forecast_of
from tests.handlers.days import Days
from tests.household import RIDGE, WREN

JUNE, H = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1)
EDGE = re.compile(r"dry from ([^,.]+)")


def edges_told(left):
    """Each early edge that Wren reads."""
    return [found for number, text in left if number == WREN for found in EDGE.findall(text)]


def test_a_reminder_says_no_later_edge_than_was_told(tmp_path):
    """By a forecast made since there was a day more in the reminders, and three hours in the second call between them."""
    days = Days(tmp_path, controller='silence_after = "off"', rest='[call_out]\nremind_every = "1h"\n')
    for text in ("LINE 1 BROKE 1", "LINE 2 BROKE 1"):
        days.comes(JUNE - H, text)
    (first,) = edges_told(days.says(JUNE, "LINE 1 MADE 1", number=RIDGE))
    assert first == "20:30"
    told = [edge for hours in range(1, 8) for edge in edges_told(days.time_brings(JUNE + hours * H))]
    assert len(told) >= 4 and set(told) == {first}
    with days.store.read() as reader:
        (listed,) = alarms_listed(reader, days.site, JUNE + 7 * H)
        early, _, _ = forecast_of(reader, days.site, "house", JUNE + 7 * H).dry_at
    assert EDGE.findall(listed.says) == [first]
    assert early > JUNE + 24 * H, "the forecast itself has moved on"
    later = [edge for hours in range(9, 14) for edge in edges_told(days.time_brings(JUNE + hours * H))]
    assert later and first not in later, "what is past is told no more"
    days.store.close()
