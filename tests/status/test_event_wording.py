"""The values in messages: nothing is said of a time that has gone by."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.event_wording import forecast_values
from gateway.water.tank_outlook import TankOutlook
from tests.household import write_config

NOW = datetime(2027, 3, 5, 11, 20, tzinfo=UTC)
H = timedelta(hours=1)


@pytest.mark.parametrize(
    ("early", "likely", "said"),
    [(1 * H, 2 * H, ("dry_early", "dry")), (-4 * H, 2 * H, ("dry_now",)), (-4 * H, -2 * H, ())],
    ids=["both to come", "early gone by, likely to come", "both gone by"],
)
def test_when_a_tank_is_dry_is_said_of_what_comes(tmp_path, early, likely, said):
    """Seen: "Now urgent: Spring tank LOW since 06:42. Dry from 07:21, likely 09:09", told at 11:20."""
    site = compile_site(load(str(write_config(tmp_path))).settings)
    outlook = TankOutlook(dry_at=(NOW + early, NOW + likely, NOW + 9 * H))
    values = forecast_values(site, outlook, NOW)
    assert tuple(name for name in ("dry_early", "dry", "dry_now") if values[name] is not None) == said
