"""When the forecast of an alarm is looked at again: before the taps may be dry, and when what is not urgent may become so."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.settings.people_tables import CallOut
from gateway.status.alarm_priority import LEAST_WAIT, Urgency, look_again_at

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
