"""A site as it stands → what is said of its taps first: how sure, by when, and who sees to it."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Triple
from gateway.facts.states.gateway_itself import Trouble
from gateway.facts.states.people import Presence, TapsDry
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import StandingAlarm, standing_alarms
from gateway.status.taps_verdict import FORETOLD, SiteStanding, taps_verdict
from gateway.water.tank_outlook import TankOutlook
from tests.handlers.days import Days
from tests.household import ROBIN

NOW, H = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1)
WELL = ("LINE 1 BROKE 0717", "LINE 2 BROKE 0717")


@pytest.fixture
def verdict(tmp_path):
    """verdict(texts, at, …): of the household that sent them at NOW; `forecast`: the house tank's instead of the one that follows."""
    made = []

    def of(texts=(), at=NOW + H, forecast=None, state=None, do=lambda days: None, also=(), **parts):
        days = Days(tmp_path, **parts)
        made.append(days)
        for text in texts:
            days.comes(NOW, text)
        do(days)
        if state is not None:
            days.at(NOW, lambda unit: unit.tx.set_state(*state))
        with days.store.read() as reader:
            standing = site_standing(reader, days.site, at)
            if forecast is not None:
                forecasts = {**standing.forecasts, "house": forecast}
                standing = SiteStanding(site=standing.site, snapshot=standing.snapshot, forecasts=forecasts)
            return taps_verdict(reader, standing, (*also, *standing_alarms(reader, standing)))

    yield of
    for days in made:
        days.store.close()


def times(hours):
    """A forecast's three times, the first so many hours from NOW."""
    return tuple(NOW + (hours + more) * H for more in (0, 3, 9))


@pytest.mark.parametrize(
    ("texts", "hours", "state"),
    [
        (WELL, 2, "may-run-dry"),
        (WELL, 72.9, "may-run-dry"),
        (WELL, 73.1, "lasts"),
        (WELL, -2.5, "dry-by-now"),
        (WELL, -1.5, "may-run-dry"),
        (("LINE 1 MADE 0717",), 200, "may-run-dry"),
    ],
)
def test_a_forecast_makes_the_verdict(verdict, texts, hours, state):
    """Dry by now once the likely time is past; of a tank that is not low what is days away is no warning, and is counted in whole units."""
    said = verdict(texts, forecast=TankOutlook(dry_at=times(hours)))
    assert (said.state, said.tank) == (state, "house")
    assert said.times == (None if state == "lasts" else times(hours))
    assert said.least == (FORETOLD if state == "lasts" else None) and said.is_well is (state == "lasts")


def test_water_that_is_surely_there_holds_for_so_long_at_least(verdict):
    """By the least that stands there and a use as high as in one case of ten; more people, less time; never rounded up."""
    said = verdict(WELL)
    few = verdict(WELL, forecast=TankOutlook(litres=Triple(low=400, likely=900, high=1000)))
    assert said.state == few.state == "holds" and said.is_well and said.times is None
    assert few.least is not None and said.least is not None and 6 * H <= few.least <= 20 * H < said.least
    many = verdict(WELL, forecast=TankOutlook(litres=Triple(low=3000, likely=4000, high=5000)))
    assert many.least is not None and many.least > said.least and many.least % timedelta(days=1) == timedelta(0)
    assert few.least % H == timedelta(0)
    none = verdict(WELL, forecast=TankOutlook(litres=Triple(low=1, likely=900, high=1000)))
    assert (none.state, none.least) == ("stands", None) and none.is_well
    assert verdict(WELL, forecast=TankOutlook(litres=Triple(low=1e9, likely=2e9, high=3e9))).least == timedelta(days=60)
    assert verdict(WELL, forecast=TankOutlook()).state == "stands"


@pytest.mark.parametrize(("people", "shorter"), [(None, False), (12, True), (0, False)])
def test_more_people_draw_more_and_an_empty_house_is_no_promise(verdict, people, shorter):
    """Who is away comes back: the least is never reckoned for fewer than are configured."""
    litres = TankOutlook(litres=Triple(low=400, likely=900, high=1000))
    presence = (Presence(people=people, since=NOW, until=None, by="wren"),) if people is not None else None
    usual, now = verdict(WELL, forecast=litres).least, verdict(WELL, forecast=litres, state=presence).least
    assert (now < usual) is shorter and now <= usual


def test_a_low_tank_without_a_forecast_is_low_since_then(verdict):
    """How long it lasts nobody can reckon."""
    said = verdict(("LINE 1 MADE 0717",), forecast=TankOutlook())
    assert (said.state, said.since, said.is_well) == ("low", NOW, False)


def test_dry_taps_by_somebodys_word_outweigh_what_the_floats_say(verdict):
    """Even where the tank is full."""
    said = verdict(WELL, state=(TapsDry(since=NOW, by="Wren"),))
    assert (said.state, said.since, said.by, said.is_well) == ("dry", NOW, "Wren", False)


@pytest.mark.parametrize(("text", "foretold"), [("LINE 1 MADE 0717", True), ("LINE 1 BROKE 0717", False)])
def test_of_a_silent_box_it_says_since_when_and_how_it_goes_on(verdict, text, foretold):
    """By what it told last; nothing of a tank that was well then."""
    said = verdict((text,), at=NOW + 40 * H)
    assert (said.state, said.since, said.is_well) == ("unseen", NOW, False)
    assert (said.times is not None) is foretold
    assert said.matter is not None and (said.matter.kind, said.matter.controller) == ("silent", "ridge")


def test_of_a_tank_that_never_told_nobody_knows_yet(verdict):
    """Whether its box was never heard, or only that tank was not."""
    assert verdict().state == verdict(("STATION WELL 1",)).state == "never-told"


def test_a_house_without_a_watched_tank_is_unwatched(verdict):
    """Of two that feed the house the worse one counts."""
    rest = '[[tanks]]\nid = "roof"\nname = "Roof tank"\n'
    said = verdict(WELL, rest=rest)
    assert (said.state, said.tank) == ("holds", "house")
    last = '[[tanks]]\nid = "roof"\nname = "Roof tank"\nfed_by = ["house"]\n'
    assert verdict(WELL, rest=last).state == "unwatched"


def test_who_has_the_low_tank_sees_to_the_taps(verdict):
    """The alarm that stands; of a house that is well none."""

    def taken(days):
        days.leaves(NOW)
        days.comes(NOW + H / 2, "OK", number=ROBIN)

    said = verdict(("LINE 2 BROKE 0717", "LINE 1 MADE 0717"), do=taken)
    assert said.matter is not None and said.matter.alarm is not None
    assert (said.matter.tank, said.matter.alarm.taken_by) == ("house", "robin")


@pytest.mark.parametrize(("kind", "tank"), [("high", "house"), ("low", "trough"), ("reading-low", None)])
def test_no_other_alarm_is_who_sees_to_the_taps(verdict, kind, tank):
    """However urgent: neither another matter of that tank nor a low tank that does not feed the taps."""
    said = verdict(("LINE 1 MADE 0717",), also=(StandingAlarm(key="x", kind=kind, tank=tank, since=NOW),))
    assert said.matter is not None and said.matter.key == "low:house"


@pytest.mark.parametrize(("kind", "deaf"), [("signal-lost", True), ("modem-lost", True), ("signal-weak", False)])
def test_a_gateway_that_cannot_hear_says_until_when_it_did(verdict, kind, deaf):
    """What it says is by what was heard until then."""
    said = verdict(WELL, state=(Trouble(since=NOW), kind))
    assert said.deaf_since == (NOW if deaf else None) and said.matter is None
