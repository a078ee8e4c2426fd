"""A site as it stands → which alarms stand, each once, in which order, and what goes with which."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event, Text
from gateway.facts.alarms import Alarm, Telling
from gateway.facts.states.controllers_and_tanks import BatteryEpisode
from gateway.facts.states.gateway_itself import Trouble
from gateway.facts.states.people import TapsDry
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import standing_alarms
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
    """One thing that happened and was known at once; what an event has no field for is its detail."""
    detail = {key: more.pop(key) for key in ("name", "says") if key in more}
    return lambda tx: tx.keep_event(Event(kind=kind, at=at, heard_at=at, known_at=at, detail=detail, **more))


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
    return [(alarm.kind, alarm.tank or alarm.controller) for alarm in alarms]


def on_record(key, kind, priority="urgent", **more):
    """An alarm of the record; `told`: a contact who was told of it."""
    told = more.pop("told", None)
    at = NOW - HOUR
    alarm = Alarm(
        key=key, kind=kind, priority=priority, since=at, raised_at=at, round_at=at, turn_at=at, reminded_at=at, **more
    )

    def put(tx):
        kept = tx.put_alarm(alarm)
        if told:
            tx.put_telling(Telling(alarm=kept.number, contact=told, at=at, why="first"))

    return put


def test_a_house_that_is_well_has_none(stands):
    """Heard, idle, with power."""
    assert stands(heard("ridge"), heard("creek"), all_idle) == ()


def test_what_stands_has_no_alarm_on_record_and_is_shown_all_the_same(stands):
    """Low tanks, then the rest by the weight of their kind; an unknown tank goes with the box that was never heard."""
    alarms = stands(
        heard("ridge"),
        all_idle,
        *(event("low", tank=tank, controller="ridge", input=input) for tank, input in RIDGE_FLOATS),
        event("power-lost", controller="ridge"),
        lambda tx: tx.set_state(Trouble(since=NOW), "signal-weak"),
    )
    assert named(alarms) == [
        ("low", "hill"),
        ("low", "house & <b>yard</b>"),
        ("power-lost", "ridge"),
        ("signal-weak", None),
        ("never-heard", "creek"),
    ]
    assert named(alarms[-1].folded) == [("unknown", "spring")] and not any(alarm.folded for alarm in alarms[:-1])
    assert alarms[0].since == NOW - HOUR and alarms[3].since == NOW and alarms[4].since is None


def test_what_the_record_and_the_tanks_both_tell_of_is_one(stands):
    """With who was told; what the record folds in another stands within it; the urgent one before one that is not."""
    alarms = stands(
        heard("ridge", NOW - timedelta(days=9)),
        heard("creek"),
        all_idle,
        event("low", tank="spring", controller="creek", input="1"),
        on_record("low:house & <b>yard</b>", "low", tank="house & <b>yard</b>", told="wren"),
        on_record("low:spring", "low", tank="spring", state="folded", folded_in=1),
        on_record("silence:ridge", "silent", "soon", controller="ridge"),
    )
    assert named(alarms) == [("low", "house & <b>yard</b>"), ("silent", "ridge")]
    assert alarms[0].told == ("wren",) and named(alarms[0].folded) == [("low", "spring")]
    assert alarms[1].alarm is not None and alarms[1].since == NOW - timedelta(days=9)
    assert {tank for _, tank in named(alarms[1].folded)} == {"hill", "house & <b>yard</b>"}


@pytest.mark.parametrize(
    ("alarm", "shown"),
    [
        ({"priority": "record"}, False),
        ({"priority": "record", "state": "taken", "taken_by": "wren"}, True),
        ({"state": "reckoned-over"}, False),
        ({"priority": "soon"}, True),
    ],
)
def test_what_is_only_for_the_record_or_reckoned_over_is_not_shown(stands, alarm, shown):
    """Unless somebody has it."""
    well = (heard("ridge"), heard("creek"), all_idle)
    assert bool(stands(*well, on_record("leak:hill", "night-flow", tank="hill", **alarm))) is shown


def test_dry_taps_that_are_over_by_reckoning_are_shown(stands):
    """Nobody said that the water is safe."""
    well = (heard("ridge"), heard("creek"), all_idle)
    (dry,) = stands(*well, on_record("dry:hill", "ran-dry", tank="hill", state="reckoned-over"))
    assert dry.kind == "ran-dry"


def test_water_at_stake_stands_before_what_is_as_urgent(stands):
    """And dry taps before all, by somebody's word."""
    well = (heard("ridge"), heard("creek"), all_idle)
    alarms = stands(
        *well,
        on_record("low:hill", "low", tank="hill"),
        on_record("silence:creek", "silent", at_stake=True, controller="creek"),
        lambda tx: tx.set_state(TapsDry(since=NOW, by="Wren")),
    )
    assert [alarm.kind for alarm in alarms] == ["ran-dry", "silent", "low"]


def test_an_input_is_named_by_its_event(stands):
    """`Lid is open`."""
    well = (heard("ridge"), heard("creek"), all_idle)
    opened = event("input-active", controller="ridge", input="9", name="Lid", says="is open")
    (lid,) = stands(*well, opened, on_record("input:ridge:9", "input-active", "soon", controller="ridge", event=4))
    assert lid.named == "Lid is open"


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
