"""The taps ran dry where two tanks feed no other: which of them it was."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import standing_alarms
from tests.handlers.days import Days
from tests.handlers.test_alarms import STOCK
from tests.household import RIDGE

JUNE, H = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1)


@pytest.mark.parametrize(
    ("low", "tank"),
    [((), "stock"), ((1,), "house"), ((3,), "stock"), ((1, 3), "stock")],
    ids=("none", "house", "stock", "both"),
)
def test_of_two_tanks_at_taps_it_is_the_low_one_that_ran_dry(tmp_path, low, tank):
    """The last of the file was taken for it, was learnt of, and the house's own low tank was a second matter."""
    days = Days(tmp_path, rest=STOCK)
    for number in low:
        days.says(JUNE, f"LINE {number} MADE 0717", number=RIDGE)
    told = days.says(JUNE + H, "DRY")
    assert [event.tank for event in days.events("ran-dry")] == [tank]
    assert any(text.endswith("Also: House tank LOW.") for _, text in told) is (low == (1,))
    days.says(JUNE + 2 * H, "LINE 1 BROKE 0717", number=RIDGE)
    with days.store.read() as reader:
        standing = standing_alarms(reader, site_standing(reader, days.site, JUNE + 3 * H))
    assert [shown.key for shown in standing if shown.kind == "ran-dry"] == [f"dry:{tank}"]
    days.says(JUNE + 4 * H, "SAFE")
    assert [event.tank for event in days.events("taps-safe")] == [tank]
    with days.store.read() as reader:
        assert not [alarm for alarm in reader.alarms() if alarm.kind == "ran-dry"]
    days.store.close()
