"""Battery, panel and load give twelve months, a worst one and a sentence; what cannot be known is said to be unknown."""

import calendar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.power.battery_charge import state_of_charge, volts_at_25
from gateway.power.monthly_outlook import bearing_deg, power_outlook
from gateway.power.outlook_in_words import cautions, verdict
from gateway.settings.controller_tables import Battery, Load, Panel, Power

MONTH = calendar.month_name.__getitem__


def power(*, watts=20.0, tilt=50.0, facing=0.0, horizon=0.0, ah=18.0, standby=30.0, chemistry="lead-acid", **more):
    return Power(
        battery=Battery(capacity_ah=ah, chemistry=chemistry),
        panel=Panel(watts=watts, tilt_deg=tilt, facing_deg=facing, horizon_deg=horizon) if watts else None,
        load=Load(standby_ma=standby),
        **more,
    )


@pytest.mark.parametrize(
    ("facing", "latitude", "bearing"),
    [(0, -35.2, 0), (0, 56, 180), (180, 56, 180), (360, 56, 0), (180, -35, 180), (-90, 10, 270), (90, -10, 90)],
)
def test_which_way_it_faces(facing, latitude, bearing):
    """0 is towards the equator in either hemisphere; anything else is a compass bearing, 360 due north."""
    assert bearing_deg(facing, latitude) == bearing


@pytest.mark.parametrize("latitude", [5, 35.2, 56, 68])
def test_the_hemispheres_mirror(latitude):
    """Half a year apart the same box has much the same outlook (the earth's distance from the sun differs by 3 %)."""
    north = power_outlook("n", power(horizon=10), latitude)
    south = power_outlook("s", power(horizon=10), -latitude)
    for month in range(12):
        assert north.months[month].charge.value == pytest.approx(
            south.months[(month + 6) % 12].charge.value, rel=0.13, abs=0.05
        )


def test_the_contracts_example():
    """Quandong Ridge, 35.2° S: June or July is worst, the sun covers the use all year, two dull weeks are too much."""
    outlook = power_outlook("ridge", power(horizon=10), -35.2)
    assert outlook.worst_month in (6, 7) and not outlook.short_months() and not outlook.carries
    assert verdict(outlook, MONTH) == "In June it holds 10 days without sun; over two dull weeks it will fail."


def test_json_is_the_contracts():
    """The keys of `power --json`, every figure with its unit, inputs and source."""
    found = power_outlook("ridge", power(), -35.2).as_json()
    assert set(found) == {"id", "usable", "worst_month", "months"}
    assert [month["month"] for month in found["months"]] == list(range(1, 13))
    units = {"sun": "kWh/m2/day", "charge": "Ah/day", "use": "Ah/day", "days_without_sun": "days"}
    for month in found["months"]:
        assert set(month) == {"month", *units}
        for key, unit in units.items():
            assert set(month[key]) == {"value", "unit", "from", "source"}
            assert month[key]["unit"] == unit and month[key]["source"]
    assert found["usable"]["unit"] == "Ah"


@pytest.mark.parametrize(
    ("box", "latitude", "says"),
    [
        (power(), None, "Its sun is unknown: neither site.latitude nor monthly_kwh_m2_day is configured."),
        (power(watts=0), -35.2, "It has no panel: a full battery holds 10 days in July."),
        (power(watts=0), None, "It has no panel: a full battery holds 9 days."),
        (power(watts=0, ah=0.5), -35.2, "less than a day"),
        (power(ah=60), -35.2, "In June it holds 32 days without sun, two dull weeks among them."),
        (
            power(watts=13),
            56,
            "fail. From November to January it uses more than the sun gives: in December a full battery",
        ),
        (
            power(watts=25),
            56,
            "fail. In December it uses more than the sun gives: in December a full battery is spent in",
        ),
        (power(watts=5), 56, "fail. From September to March it uses"),
        (power(watts=0.5), 56, "All year it uses more than the sun gives"),
    ],
)
def test_verdict(box, latitude, says):
    """Plain, careful, and no word of sun where nothing is known of it."""
    assert says in verdict(power_outlook("box", box, latitude), MONTH)


def test_without_latitude_but_with_figures_the_sky_is_taken_as_overcast():
    """The level figures still serve, on the careful side: half of each for an upright panel."""
    outlook = power_outlook("box", power(tilt=90, monthly_kwh_m2_day=(2.0,) * 12), None)
    assert outlook.sun_unknown is None
    assert {month.sun.value for month in outlook.months} == {1.0}
    assert "no site.latitude" in outlook.worst.sun.source


def test_a_figure_beyond_the_sun_is_cut():
    """20 kWh/m² a day cannot be: it is taken as the most that can, and the source says so."""
    outlook = power_outlook("box", power(tilt=0, monthly_kwh_m2_day=(20.0,) * 12), 40.0)
    assert all(month.sun.value < 10 for month in outlook.months)
    assert "20, cut to the most that can be" in outlook.worst.sun.source


@settings(deadline=None)
@given(
    latitude=st.floats(-90, 90),
    tilt=st.floats(0, 90),
    facing=st.floats(-180, 360),
    horizon=st.floats(0, 89),
    level=st.none() | st.lists(st.floats(0, 12), min_size=12, max_size=12),
)
def test_any_place_has_an_outlook(latitude, tilt, facing, horizon, level):
    """Poles, odd bearings, high horizons: figures stay finite and possible, and a horizon never adds to the beam or the sky."""
    box = power(tilt=tilt, facing=facing, horizon=horizon, monthly_kwh_m2_day=tuple(level or ()))
    outlook = power_outlook("box", box, latitude)
    for month in outlook.months:
        assert 0 <= month.sun.value < 45
        assert 0 <= month.charge.value < 60 and month.use.value > 0 and month.days_without_sun.value > 0
    assert 1 <= outlook.worst_month <= 12


@settings(deadline=None)
@given(horizon=st.floats(0, 60), tilt=st.floats(0, 90))
def test_a_higher_horizon_never_charges_more(horizon, tilt):
    """What lies behind the hill is lost, but for what the hill reflects of it."""
    free = power_outlook("a", power(tilt=tilt), -35.2)
    behind = power_outlook("b", power(tilt=tilt, horizon=horizon), -35.2)
    for a, b in zip(free.months, behind.months, strict=True):
        assert b.sun.value <= a.sun.value * 1.001


def test_lithium_takes_and_gives_more():
    """Common practice: 95 % of what is put in comes back for 85 %, and four fifths of it may be used for half."""
    lead, lithium = (
        power_outlook("box", power(chemistry=one, monthly_celsius=(25.0,) * 12), -35.2) for one in ("agm", "lifepo4")
    )
    assert lithium.worst.charge.value == pytest.approx(lead.worst.charge.value * 0.95 / 0.85, rel=1e-3)
    assert lithium.usable.value == pytest.approx(lead.usable.value * 0.8 / 0.5, rel=2e-3)


@pytest.mark.parametrize(
    ("volts", "nominal", "celsius", "percent"),
    [(12.36, 12, None, 50), (6.18, 6, None, 50), (49.44, 48, None, 50), (12.36, 12, 25, 50), (12.318, 12, -10, 50)],
)
def test_charge_for_other_batteries_and_temperatures(volts, nominal, celsius, percent):
    """6 to 48 V go by the same cell; a cold battery shows less for the same charge."""
    assert state_of_charge(volts, nominal, "lead-acid", celsius) == pytest.approx(percent, abs=0.5)


@settings(deadline=None)
@given(chemistry=st.sampled_from(["lead-acid", "agm", "gel", "lifepo4"]), volts=st.lists(st.floats(0, 20), min_size=2))
def test_more_volts_are_never_less_charge(chemistry, volts):
    """The tables rise, and stay within 0 and 100."""
    charges = [state_of_charge(volt, 12, chemistry) for volt in sorted(volts)]
    assert charges == sorted(charges) and 0 <= charges[0] <= charges[-1] <= 100
    assert volts_at_25(volts[0], 12, None) == volts[0]


def test_cautions():
    """Lead: acid, gas and frost; lithium: no charge below freezing; a panel: height and lightning."""
    assert cautions(power()) == ("acid", "gas", "frost", "height", "lightning")
    assert cautions(power(watts=0, chemistry="lifepo4")) == ("frozen-charge",)
