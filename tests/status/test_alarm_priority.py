"""When the forecast of an alarm is looked at again: before the taps may be dry, and when what is not urgent may become so."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event
from gateway.settings.people_tables import CallOut
from gateway.status.alarm_priority import LEAST_WAIT, Urgency, look_again_at, urgency_of
from tests.handlers.days import Days

NOW = datetime(2026, 7, 6, tzinfo=UTC)
H = timedelta(hours=1)
TABLE = CallOut(urgent_within=12 * H, warn_before_dry=3 * H)


@pytest.mark.parametrize(
    ("priority", "early_h", "at_stake", "again_h"),
    [
        ("urgent", 20, True, 17),  # the second call
        ("urgent", 4, True, 2),  # less is left than that: half of it
        ("urgent", 20, False, None),
        ("soon", 20, False, 8),  # by then it may be urgent
        ("soon", 5, False, LEAST_WAIT / H),
        ("record", 20, False, None),
        ("soon", -1, False, None),
        ("soon", None, False, None),
    ],
)
def test_when_it_is_looked_at_again(priority, early_h, at_stake, again_h):
    """Urgent within twelve hours, the second call three hours before."""
    early = None if early_h is None else NOW + early_h * H
    again = look_again_at(Urgency(priority=priority, at_stake=at_stake, dry_early=early), TABLE, NOW)
    assert again == (None if again_h is None else NOW + again_h * H)


SHED = """
[[controllers]]
id = "shed"
name = "Shed box"
number = "0491 570 110"
  [[controllers.rules]]
  text = "SHED {{input}} {{state}} *"
  means = "input"
  active = ["MADE"]
  idle = ["BROKE"]
[[tanks]]
id = "trough"
name = "Trough"
fed_by = ["house"]
shape = {{ kind = "litres", litres = 500, height_m = 1.0 }}
  [[tanks.floats]]
  controller = "shed"
  input = 1
  means = "low"
  level_m = 0.3
[call_out]
urgent_within = "{within}"
"""


@pytest.mark.parametrize(("within", "priority"), [("60d", "urgent"), ("1m", "soon")])
def test_a_silent_box_is_urgent_where_its_tank_may_run_dry_unseen(tmp_path, within, priority):
    """The trough was well when its box was last heard; the tank that feeds it is low, by a box that is heard."""
    days = Days(tmp_path, rest=SHED.format(within=within))
    days.comes(NOW, "SHED 1 BROKE 1", number="+61491570110")
    days.comes(NOW + H, "LINE 1 MADE 1")
    silent = Event(kind="silent", at=NOW + H, heard_at=NOW + H, known_at=NOW + H, controller="shed")
    with days.store.read() as reader:
        found = urgency_of(reader, days.site, NOW + 2 * H, silent)
    days.store.close()
    assert (found.priority, found.at_stake) == (priority, priority == "urgent")
