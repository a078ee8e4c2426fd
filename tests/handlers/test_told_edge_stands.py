"""The early edge that was told of a tank at the taps stands until it is there: in reminders and in the second call alike."""

import re
from datetime import UTC, datetime, timedelta

from gateway.status.alarms_listed import alarms_listed
from gateway.status.forecast import as_told, forecast_of
from gateway.status.site_standing import site_standing
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
    assert first == "21:13"
    told = [edge for hours in range(1, 9) for edge in edges_told(days.time_brings(JUNE + hours * H))]
    assert len(told) >= 4 and set(told) == {first}
    with days.store.read() as reader:
        (listed,) = alarms_listed(reader, days.site, JUNE + 8 * H)
        early, _, _ = forecast_of(reader, days.site, "house", JUNE + 8 * H).dry_at
        shown = site_standing(reader, days.site, JUNE + 8 * H).forecasts["house"].dry_at
        (alarm,) = reader.alarms()
        as_it_is = forecast_of(reader, days.site, "house", JUNE + 8 * H)
        before_it_was_told = as_told(reader, {"house": as_it_is}, by=alarm.raised_at - timedelta(minutes=1))
    assert EDGE.findall(listed.says) == [first]
    assert shown[0] == alarm.dry_early < early, "page, metrics and broker say what the messages say"
    assert before_it_was_told["house"] == as_it_is
    assert early > JUNE + 24 * H, "the forecast itself has moved on"
    later = [edge for hours in range(10, 15) for edge in edges_told(days.time_brings(JUNE + hours * H))]
    assert later and first not in later, "what is past is told no more"
    days.store.close()


def test_a_silent_box_says_no_later_edge_than_was_told(tmp_path):
    """Nothing was heard since: by the forecast alone the silence said an hour more than the news, and TANKS four."""
    days = Days(tmp_path, controller='silence_after = "6h"', rest="[limits]\nsegments = 3\n")
    (first,) = edges_told(days.says(JUNE, "LINE 1 MADE 1", number=RIDGE))
    (silence,) = [edge for hours in (7, 8) for edge in edges_told(days.time_brings(JUNE + hours * H))][:1]
    assert silence == first
    assert f"may be dry from {first})" in days.says(JUNE + 8 * H, "TANKS")[-1][1]
    assert f"House tank: may run dry from {first}." in days.says(JUNE + 8 * H, "DRY?")[-1][1]
    assert f"may be dry since Mon {first})" in days.says(JUNE + 12 * H, "TANKS")[-1][1]
    assert "House tank: may be dry already." in days.says(JUNE + 12 * H, "DRY?")[-1][1]
    days.store.close()


def test_a_silence_names_the_tank_at_the_taps(tmp_path):
    """The one above it ran dry long ago: that says nothing of how long there is water."""
    days = Days(tmp_path, controller='silence_after = "6h"', rest="[limits]\nsegments = 3\n")
    days.judge(JUNE - 24 * H)
    for at, text in ((JUNE - 24 * H, "LINE 1 BROKE 1"), (JUNE, "LINE 2 MADE 1"), (JUNE + 200 * H, "LINE 1 MADE 1")):
        days.says(at, text, number=RIDGE)
    ((_, silence),) = [left for left in days.time_brings(JUNE + 207 * H) if "SILENT" in left[1]]
    assert "House tank may run dry from" in silence and "dry already" not in silence
    days.store.close()
