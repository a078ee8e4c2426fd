"""What status decides → the page's sentences: the taps, what is to be done, who sees to it, the record, batteries, gauges."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from gateway.facts import Cause, Figure
from gateway.facts.alarms import Alarm
from gateway.facts.states.people import TapsDry, WatchGiven
from gateway.page.event_list import event_words
from gateway.page.local_calendar import measure
from gateway.page.power_words import battery_words, sun_words, volts_words
from gateway.page.tank_pictures import gauge_marks
from gateway.page.verdict_words import alarm_line, verdict_words
from gateway.phrases import load_phrases, with_page_words
from gateway.power.monthly_outlook import power_outlook
from gateway.power.voltage_trend import BatteryTrend
from gateway.settings.water_tables import Gauge
from gateway.site import PlacedGauge
from gateway.status.battery import BatteryNow
from gateway.status.site_standing import SiteStanding, site_standing
from gateway.status.snapshot import GaugeSnapshot, Measured, TankSnapshot
from gateway.status.standing_alarms import StandingAlarm
from gateway.status.taps_verdict import TapsVerdict
from gateway.storage import open_store
from gateway.water.tank_outlook import TankOutlook
from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, event, show

EARLY, LIKELY, LATE = NOW + HOUR, NOW + 4 * HOUR, NOW + 9 * HOUR
PAST = (NOW - 5 * HOUR, NOW - 2 * HOUR, NOW + HOUR)
NAME = "House <b>tank</b>"


@pytest.fixture
def standing(english):
    """It as it stands with nothing on record."""
    store = open_store(english.settings.store.url, english.settings.site.name, create=True)
    with store.read() as reader:
        yield reader, site_standing(reader, english, NOW)
    store.close()


VERDICTS = [
    (TapsVerdict(state="dry", since=NOW - HOUR, by="Wren"), "The taps are DRY since 13:00, says Wren.", False),
    (TapsVerdict(state="dry-by-now", times=PAST), "The taps are probably dry since about 12:00.", True),
    (
        TapsVerdict(state="may-run-dry", times=(NOW, LIKELY, LATE)),
        "The taps may be dry already, likely from 18:00.",
        True,
    ),
    (
        TapsVerdict(state="may-run-dry", times=(EARLY, LIKELY, LATE)),
        "The taps may run dry from 15:00, likely 18:00.",
        True,
    ),
    (
        TapsVerdict(state="low", tank=HOUSE_TANK, since=NOW),
        f"{NAME} is LOW since 14:00; how long its water lasts cannot be reckoned.",
        False,
    ),
    (
        TapsVerdict(state="unseen", tank=HOUSE_TANK, since=NOW - DAY, times=PAST),
        f"{NAME} was not heard of since Tue 14:00; as it went then, the taps may be dry since 09:00, likely 12:00.",
        True,
    ),
    (
        TapsVerdict(state="unseen", tank=HOUSE_TANK, since=NOW - DAY, times=(EARLY, LIKELY, LATE)),
        f"{NAME} was not heard of since Tue 14:00; as it went then, the taps may run dry from 15:00, likely 18:00.",
        True,
    ),
    (
        TapsVerdict(state="unseen", tank=HOUSE_TANK, since=NOW - DAY),
        f"Nobody knows whether the taps run: {NAME} was not heard of since Tue 14:00.",
        False,
    ),
    (
        TapsVerdict(state="never-told", tank=HOUSE_TANK),
        f"Nobody knows yet whether the taps run: nothing was heard of {NAME} so far.",
        False,
    ),
    (
        TapsVerdict(state="unwatched"),
        "Nobody knows whether the taps run: nothing watches a tank that feeds them.",
        False,
    ),
    (
        TapsVerdict(state="lasts", least=5 * DAY),
        "Water for 5 days at least, until Mon 14:00, as it goes now.",
        True,
    ),
    (
        TapsVerdict(state="holds", least=31 * HOUR),
        "Water for 31 h at least, until Thu 21:00, even if nothing more comes.",
        True,
    ),
    (
        TapsVerdict(state="stands", tank=HOUSE_TANK),
        f"There is water in {NAME}; for how long cannot be reckoned.",
        False,
    ),
]


@pytest.mark.parametrize(("verdict", "sentence", "is_reckoned"), VERDICTS, ids=lambda part: getattr(part, "state", ""))
def test_each_verdict_is_one_sentence(standing, verdict, sentence, is_reckoned):
    """With times that hold by themselves; what was reckoned is known as that."""
    words = verdict_words(*standing, verdict, ())
    assert (words.sentence, words.is_reckoned) == (sentence, is_reckoned)
    assert words.is_well is (verdict.state in ("lasts", "holds", "stands"))


def test_where_a_tank_is_not_heard_its_box_is_to_be_looked_at(standing):
    """It is the one that tells of that tank."""
    box = StandingAlarm(key="silence:ridge", kind="silent", controller="ridge", since=NOW)
    words = verdict_words(*standing, TapsVerdict(state="unseen", tank=HOUSE_TANK, since=NOW, matter=box), ())
    assert words.more == ()
    assert words.todo[0].startswith("Look at Ridge box:") and words.todo[0].endswith(f"look at {NAME} yourselves.")


@pytest.mark.parametrize(
    ("state", "todo"),
    [
        ("never-told", "Lift each float once"),
        ("unwatched", "A float or a gauge"),
        ("may-run-dry", "Draw little,"),
        ("holds", None),
    ],
)
def test_what_is_not_known_yet_can_be_brought_about(standing, state, todo):
    """By hand; of a house that is well nothing is to be done."""
    words = verdict_words(*standing, TapsVerdict(state=state, tank=HOUSE_TANK, least=HOUR), ())
    assert [said[: len(todo or "")] for said in words.todo] == ([todo] if todo else [])


def test_a_gateway_that_cannot_hear_is_not_well(standing):
    """Whatever it knew before; the modem is to be looked at first."""
    words = verdict_words(*standing, TapsVerdict(state="holds", least=HOUR, deaf_since=NOW - HOUR), ())
    assert not words.is_well and words.todo[0].startswith("Look at the gateway's modem")
    assert words.more == ("This is by what was heard until 13:00: since then the gateway can hear nothing.",)


@pytest.mark.parametrize("state", ["holds", "unseen", "dry"])
def test_of_a_gateway_that_does_not_run_no_box_is_blamed(standing, state):
    """It is to be started, and the tanks to be looked at; steps for dry taps stay."""
    reader, house = standing
    box = StandingAlarm(key="silence:ridge", kind="silent", controller="ridge", since=NOW)
    dry = SimpleNamespace(state=lambda state, subject="": TapsDry(since=NOW, by="Wren") if state is TapsDry else None)
    verdict = TapsVerdict(state=state, tank=HOUSE_TANK, since=NOW, by="Wren", least=HOUR, matter=box, deaf_since=NOW)
    words = verdict_words(dry if state == "dry" else reader, house, verdict, (), off_since=NOW - HOUR)
    assert not words.is_well and words.todo[0].startswith("Start the gateway; until it hears the boxes again")
    assert words.more == ("This is by what was heard until 13:00: since then the gateway has not run.",)
    assert len(words.todo) == (5 if state == "dry" else 1)


def test_a_page_made_by_hand_knows_that_the_gateway_was_stopped(site):
    """Until it started again; whoever keeps a page fresh is at work."""
    stopped = show(site, event("gateway-started", NOW - DAY), event("gateway-stopped", NOW - HOUR))
    assert "since then the gateway has not run" in " ".join(stopped.verdict.more) and not stopped.verdict.is_well
    assert stopped.lanes[-1].episodes[-1].text == "gateway off since 13:00" and stopped.nothing_lately == ""
    assert "gateway has not run" not in " ".join(show(site, good_until=NOW + HOUR).verdict.more)
    assert "gateway has not run" not in " ".join(show(site, event("gateway-started", NOW - HOUR / 2)).verdict.more)


def on_record(key, kind, **more):
    """An alarm that is on record since an hour ago."""
    at = NOW - HOUR
    taken = {name: more.pop(name) for name in ("taken_by", "taken_at", "state") if name in more}
    alarm = Alarm(
        key=key, kind=kind, priority="urgent", since=at, raised_at=at, round_at=at, turn_at=at, reminded_at=at, **taken
    )
    return StandingAlarm(key=key, kind=kind, since=at, alarm=alarm, **more)


def low(**more):
    """The house tank is."""
    return on_record(f"low:{HOUSE_TANK}", "low", tank=HOUSE_TANK, **more)


@pytest.mark.parametrize(
    ("alarm", "who"),
    [
        (low(taken_by="wren", taken_at=NOW), "Wren sees to it since 14:00."),
        (low(told=("wren", "robin")), "Nobody sees to it yet. Told: Wren and robin."),
        (low(), "Nobody sees to it yet, and nobody was told."),
        (
            on_record("dry:x", "ran-dry", tank=HOUSE_TANK, state="reckoned-over", taken_by="wren", told=("wren",)),
            "By reckoning there is water again, and nobody said that it is safe: if it is, send SAFE.",
        ),
    ],
)
def test_who_sees_to_it_stands_behind_the_verdict_and_the_alarm(standing, alarm, who):
    """Or who was told; nothing of what is not on record."""
    reader, house = standing
    verdict = TapsVerdict(state="low", tank=HOUSE_TANK, since=NOW, matter=alarm)
    assert verdict_words(reader, house, verdict, (alarm,)).more == (who,)
    assert (alarm_line(house, alarm).who, alarm_line(house, alarm, above=True).who) == (who, "")
    assert alarm_line(house, replace(alarm, alarm=None)).who == ""


def test_the_reasons_of_an_alarm_are_folded(standing):
    """What is reckoned of it, work on it, who knew before it was taken, what goes with it; what to do stands above, once."""
    reader, house = standing
    outlook = TankOutlook(
        dry_at=(EARLY, LIKELY, LATE),
        cause=Cause(kind="heavy-draw", because="162.9 times the usual"),
        advice="find-leak",
    )
    tanks = [replace(tank, paused_until=LATE) if tank.tank.id == HOUSE_TANK else tank for tank in house.snapshot.tanks]
    house = SiteStanding(
        site=house.site,
        snapshot=replace(house.snapshot, tanks=tuple(tanks)),
        forecasts={**house.forecasts, HOUSE_TANK: outlook},
    )
    spring = StandingAlarm(key="low:spring", kind="low", tank="spring", since=NOW)
    alarm = low(taken_by="wren", taken_at=NOW, told=("wren",), folded=(spring,))
    line = alarm_line(house, alarm)
    assert line.what == f"{NAME} LOW since 13:00." and line.link.startswith("tank-")
    assert line.reckoned == (
        "Dry about 18:00 (between 15:00 and 23:00, four times in five).",
        "More seems to be drawn than usual: use or a leak.",
    )
    assert line.more == ("Work on it goes on until 23:00.", "Told: Wren.", "With it: Spring tank LOW since 14:00.")
    verdict = TapsVerdict(state="may-run-dry", tank=HOUSE_TANK, times=outlook.dry_at)
    assert verdict_words(reader, house, verdict, (alarm, low())).todo == ("Look for an open tap or a leak.",)


@pytest.mark.parametrize(
    ("alarm", "what", "link"),
    [
        (StandingAlarm(key="dry:x", kind="ran-dry", tank=HOUSE_TANK, since=NOW), "Taps DRY since 14:00.", ""),
        (StandingAlarm(key="s", kind="signal-lost"), "Gateway: no signal.", ""),
        (StandingAlarm(key="s", kind="silent", controller="ridge", since=NOW), "Ridge box SILENT since 14:00.", "box-"),
        (StandingAlarm(key="u", kind="unknown", tank="spring"), "Spring tank unknown.", "tank-"),
        (on_record("i", "input-active", controller="ridge", named="Lid is open"), "Lid is open since 13:00.", "box-"),
        (on_record("r", "reading-low", controller="ridge", named="Cellar"), "Cellar: reading low since 13:00.", "box-"),
    ],
)
def test_each_alarm_has_its_name(standing, alarm, what, link):
    """And leads to the card that it is about."""
    line = alarm_line(standing[1], alarm)
    assert line.what == what and (line.link.startswith(link) if link else line.link == "")


def test_who_has_the_watch_stands_there(site):
    """By name, until when."""
    given = WatchGiven(contact="wren", by=None, since=NOW - HOUR, until=NOW + DAY)
    assert show(site, more=lambda tx: tx.set_state(given)).who == ("Wren has the watch until Thu 14:00",)


def test_signs_of_life_are_a_count_a_day(site):
    """Of a fortnight, in their place among what mattered; each by itself only in the full page."""
    life = [event("alive", NOW - 3 * HOUR * n, controller="creek", text="x") for n in range(1, 9)]
    life.append(event("reading", NOW - 15 * DAY, controller="ridge", volts=12.1))
    low_one = event("low", NOW - 20 * HOUR, tank="spring", controller="creek", input="1")
    lines = show(site, *life, low_one).events
    assert [(line.at, line.what) for line in lines] == [
        ("25 Nov", "4 signs of life"),
        ("24 Nov", "4 signs of life"),
        ("24 Nov 18:00", "Spring tank went low."),
    ]
    assert lines[0].routine and lines[0].machine_at == "2026-11-25"
    full = show(site, full=True).events
    assert len(full) == len(life) + 1 and full[0].what == "Creek box at the lower paddock gate says that it is well."


@pytest.mark.parametrize(
    ("happened", "language", "words"),
    [
        (event("low-over", NOW, tank="spring", lasted_s=7200.0), "en", "Spring tank is no longer low after 2 h"),
        (event("low-over", NOW, tank="spring", lasted_s=7200.0), "de", "Spring tank ist nicht mehr niedrig nach 2 h"),
        (event("low-over", NOW, tank="spring", lasted_s=7200.0, first=True), "en", "Spring tank is no longer low"),
        (event("ran-dry", NOW, tank="spring", who="Wren"), "en", "The taps ran dry, told by Wren"),
        (event("walk-passed", NOW, who="Wren"), "es", "La prueba tras la instalación salió bien (Wren)"),
        (event("taken", NOW), "en", "Somebody sees to it"),
        (event("silent", NOW), "en", "Somebody unknown fell silent"),
        (
            event("reading", NOW, controller="ridge", volts=12.6, signal=17.0),
            "de",
            "Ridge box meldete: 12,6 V, 17 (Empfang)",
        ),
        (event("level", NOW, tank="spring", level_m=1.134, litres=3550.0), "uk", "Spring tank: рівень 1,13 м, 3550 л"),
        (event("level", NOW, tank="spring", level=99.0), "en", "Spring tank: level not believed, read as 99"),
        (event("level", NOW, tank="spring"), "en", "Spring tank: level not known"),
        (
            event("configuration-changed", NOW, changes=[{"key": f"k{n}"} for n in range(5)]),
            "en",
            "The configuration changed: k0, k1, k2, k3 …",
        ),
        (event("configuration-changed", NOW, changes=[{"key": "k"}]), "en", "The configuration changed: k"),
        (event("tomorrows-kind", NOW), "de", "tomorrows kind"),
        (event("alive", NOW, tank="spring", still="active"), "en", "Spring tank: the same as before"),
        (
            event("alive", NOW, controller="ridge", still="power-lost", volts=12.6),
            "de",
            "Ridge box: dasselbe wie zuvor: 12,6 V",
        ),
        (event("alive", NOW, tank="spring", settling="active"), "es", "Spring tank: cuenta en cuanto se mantenga"),
        (event("low", NOW, tank="spring", still="active"), "en", "Spring tank went low"),
    ],
)
def test_the_record_is_told_in_the_households_language(site, happened, language, words):
    """With what belongs to it; a kind of a later program by its bare name."""
    assert event_words(replace(site, phrases=with_page_words(load_phrases(language))), happened) == words


def battery(slope, low_on=None, percent=None):
    """A battery whose lowest of each day moves so much a day; None: too little is known."""
    figure = Figure(value=slope or 0.0, unit="V/day", inputs={}, source="")
    trend = None if slope is None else BatteryTrend(slope=figure, low_on=low_on)
    return BatteryNow(volts=12.62, at=NOW - HOUR, percent=percent, limit=12.0, trend=trend)


@pytest.mark.parametrize(
    ("now", "words"),
    [
        (battery(None), "Too few days to see how it goes."),
        (battery(None, percent=81.6), "About 82 % charged if it was at rest. Too few days to see how it goes."),
        (battery(0.004), "It is steady."),
        (battery(0.02), "Its lowest of each day rises 0.02 V a day."),
        (battery(-0.02, NOW + 9 * DAY), "Its lowest of each day falls 0.02 V a day. As it goes it reaches its low limit of 12 V about 4 Dec."),
        (battery(-0.02, NOW), "Its lowest of each day falls 0.02 V a day. It is at its low limit of 12 V."),
    ],
)  # fmt: skip
def test_how_a_battery_goes(english, now, words):
    """Its charge, its slope, and when it is low; the newest voltage by itself, for that was heard."""
    assert battery_words(english, now, NOW) == words
    assert volts_words(english, now, NOW) == "12.62 V 13:00."


@pytest.mark.parametrize(
    ("watts", "capacity_ah", "latitude", "words"),
    [
        (20, 18, -35.2, "In Jun it holds 10 days without sun: over two dull weeks it will fail."),
        (20, 60, -35.2, "In Jun it holds 32 days without sun."),
        (20, 18, None, "Its sun is unknown. Without any, a full battery holds 9 days."),
        (0, 18, None, "It has no panel: a full battery holds 9 days."),
        (
            0.5,
            18,
            -35.2,
            "It uses more than the sun gives in Jan, Feb, Mar, Apr, May, Jun, Jul, Aug, Sep, Oct, Nov, Dec.",
        ),
    ],
)
def test_what_a_year_of_sun_comes_to(english, watts, capacity_ah, latitude, words):
    """On the careful side; without a panel or a latitude nothing is said of the sun."""
    power = english.settings.controllers[0].power
    panel = power.panel.model_copy(update={"watts": watts}) if watts else None
    battery = power.battery.model_copy(update={"capacity_ah": capacity_ah})
    outlook = power_outlook("box", power.model_copy(update={"panel": panel, "battery": battery}), latitude)
    assert sun_words(english, outlook).endswith(words)


@pytest.mark.parametrize(
    ("level_m", "is_heard", "marks"),
    [(0.9, True, [(0.5, "0.9 m")]), (2.7, True, [(1.0, "2.7 m")]), (0.9, False, []), (None, True, [])],
)
def test_a_gauge_is_a_line_at_its_height(english, level_m, is_heard, marks):
    """At the brim at the most; of one that is not heard, or not believed, nothing is drawn."""
    tank = english.tanks[HOUSE_TANK]
    placed = PlacedGauge(tank=tank, gauge=Gauge(controller="ridge", input="L1"))
    measured = Measured(level_m=level_m, litres=None, at=NOW) if level_m is not None else None
    gauge = GaugeSnapshot(placed=placed, now=(), measured=measured, is_heard=is_heard)
    snapshot = TankSnapshot(tank=tank, state="ok", since=None, floats=(), gauges=(gauge,))
    assert [(mark.level, mark.text) for mark in gauge_marks(english, snapshot)] == marks
    unshaped = replace(snapshot, tank=tank.model_copy(update={"shape": None}))
    assert gauge_marks(english, unshaped) == ()


@pytest.mark.parametrize(
    ("unit", "value", "shown"), [("litres", 5654.9, "5655 l"), ("metres", 1.126, "1,13 m"), ("flow", 2.75, "2,8 l/min")]
)
def test_a_measure_has_no_more_digits_than_are_known(site, unit, value, shown):
    """With the language's own decimal sign."""
    assert measure(replace(site, phrases=with_page_words(load_phrases("de"))), value, unit) == shown


def test_a_page_says_its_age(site):
    """When it was made, until when it is good, and by what word to ask when it is older; made by hand it renews itself never."""
    kept = show(site, good_until=NOW + HOUR / 4)
    assert (kept.made, kept.good_until, kept.ask_word) == ("Wed 25 Nov 2026 14:00", "Wed 25 Nov 2026 14:15", "TANKS")
    assert (kept.good_until_clock, show(site, good_until=NOW + DAY).good_until_clock) == ("14:15", "Thu 14:00")
    assert show(site).good_until == ""
