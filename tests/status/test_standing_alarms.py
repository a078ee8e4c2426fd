"""A site as it stands → which alarms stand, in which order, and what the headline is about."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event, Text
from gateway.facts.states import BatteryEpisode, Trouble
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import (
    ControllerAlarm,
    GatewayAlarm,
    TankAlarm,
    headline_of,
    standing_alarms,
)
from gateway.storage import open_store
from tests.page import years

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
RIDGE_FLOATS = (("hill", "3"), ("house & <b>yard</b>", "1"))


@pytest.fixture
def stands(tmp_path):
    """stands(tx → …, …): the alarms of a household to which that has happened; each is (what about, kind)."""
    site = years.household(tmp_path)

    def alarms(*happened):
        store = open_store(site.settings.store.url, site.settings.site.name)
        with store.write() as tx:
            for happens in happened:
                happens(tx)
        with store.read() as reader:
            standing = standing_alarms(reader, site_standing(reader, site, NOW))
        store.close()
        return standing

    return alarms


def event(kind, at=NOW - HOUR, **more):
    """One thing that happened and was known at once."""
    return lambda tx: tx.keep_event(Event(kind=kind, at=at, heard_at=at, known_at=at, **more))


def heard(controller, at=NOW - HOUR):
    """A sign of life."""
    text = Text(number="+61491570006", text="x", at=at, heard_at=at)
    return lambda tx: tx.keep_text(text, "read", controller=controller)


def all_idle(tx):
    """Every low float was heard to be idle."""
    for tank, (controller, input) in years.LOW_FLOATS.items():
        event("low-over", NOW - 2 * HOUR, tank=tank, controller=controller, input=input)(tx)


def named(alarms):
    """(kind, whose) of each, in their order."""
    return [
        (alarm.kind, alarm.tank.tank.id if isinstance(alarm, TankAlarm) else getattr(alarm, "controller", None))
        for alarm in alarms
    ]


def test_a_house_that_is_well_has_none(stands):
    """Heard, idle, with power: the headline is about nothing."""
    alarms = stands(heard("ridge"), heard("creek"), all_idle)
    assert alarms == () and headline_of(alarms).about is None


def test_low_tanks_stand_first_and_unknown_ones_last(stands):
    """Then controllers, each by itself, then the gateway; the headline names all low tanks and counts the others."""
    alarms = stands(
        heard("ridge"),
        all_idle,
        *(event("low", tank=tank, controller="ridge", input=input) for tank, input in RIDGE_FLOATS),
        event("power-lost", controller="ridge"),
        lambda tx: tx.set_state(Trouble(since=NOW), "signal-weak"),
    )
    assert [(type(alarm), alarm.kind) for alarm in alarms] == [
        (TankAlarm, "low"),
        (TankAlarm, "low"),
        (ControllerAlarm, "no-power"),
        (ControllerAlarm, "never-heard"),
        (GatewayAlarm, "signal-weak"),
        (TankAlarm, "unknown"),
    ]
    headline = headline_of(alarms)
    assert headline.about == alarms[:2] and headline.others == 4


def test_without_a_low_tank_the_weightiest_makes_the_headline(stands):
    """A box that fell silent, before the tank that is unknown for it."""
    alarms = stands(heard("ridge"), heard("creek", NOW - timedelta(days=9)), all_idle)
    silent = alarms[0]
    assert isinstance(silent, ControllerAlarm) and (silent.kind, silent.controller.id) == ("silent", "creek")
    assert silent.since == NOW - timedelta(days=9)
    assert headline_of(alarms).about == silent and headline_of(alarms).others == 1


@pytest.mark.parametrize(("reported_before", "ran_dry"), [(timedelta(minutes=5), True), (2 * HOUR, False)])
def test_a_dry_report_counts_from_when_the_tank_went_low(stands, reported_before, ran_dry):
    """One of an earlier dry spell says nothing of this one."""
    low = {"tank": "hill", "controller": "ridge", "input": "3"}
    alarms = stands(
        heard("ridge"),
        heard("creek"),
        all_idle,
        event("low", **low),
        event("ran-dry", NOW - reported_before, tank="hill"),
    )
    (hill,) = alarms
    assert hill.kind == "low" and (hill.ran_dry_at == NOW - reported_before) is ran_dry


def test_power_that_came_back_and_a_battery_that_is_well_are_no_alarm(stands):
    """Only the newest of power lost and back counts; a low battery stands until its end is kept."""
    well = (heard("ridge"), heard("creek"), all_idle)
    assert (
        stands(*well, event("power-lost", NOW - 2 * HOUR, controller="ridge"), event("power-back", controller="ridge"))
        == ()
    )
    since = NOW - HOUR
    (battery,) = stands(lambda tx: tx.set_state(BatteryEpisode(low_since=since), "ridge"))
    assert (battery.kind, battery.since) == ("battery-low", since)
