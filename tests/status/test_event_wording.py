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
    [
        (1 * H, 2 * H, {"dry_early": 1, "dry": 2}),
        (5.9 * H, 7 * H, {"dry_early": 5.9, "dry": 7}),
        (6 * H, 7 * H, {"dry_early": 6, "dry_alone": 6}),
        (-4 * H, 2 * H, {"dry_now": 2}),
        (-4 * H, -2 * H, {}),
    ],
    ids=["both to come", "just beyond 1.5", "within 1.5: one figure", "early gone by, likely to come", "both gone by"],
)
def test_when_a_tank_is_dry_is_said_of_what_comes(tmp_path, early, likely, said):
    """Seen: "Now urgent: Spring tank LOW since 06:42. Dry from 07:21, likely 09:09", told at 11:20."""
    site = compile_site(load(str(write_config(tmp_path))).settings)
    outlook = TankOutlook(dry_at=(NOW + early, NOW + likely, NOW + 9 * H))
    values = forecast_values(site, outlook, NOW)
    times = {name: value.at for name, value in values.items() if name.startswith("dry") and value is not None}
    assert times == {name: NOW + hours * H for name, hours in said.items()}
    told = site.phrases.message("low", {**values, "tank": "House tank"}, segments=2)
    assert ("May run dry from" in told, "likely" in told) == ("dry_early" in said, "dry" in said or "dry_now" in said)
