"""AWAY, PEOPLE 8, BACK: how many draw water by somebody's word; a draw while nobody is there is told, and the end is asked for."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.people import Presence
from gateway.handlers.presence import say_people
from gateway.settings.load import load_text
from gateway.site import compile_site
from gateway.status.forecast import forecast_of
from gateway.status.next_due import next_due
from gateway.status.presence import DRIPS, demand_now, presence_said
from gateway.status.summary import tanks_line
from gateway.water.demand import demand_l_day
from tests.handlers.days import Days
from tests.household import RIDGE, ROBIN, STRANGER, WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
"""A Wednesday; noon in Sydney."""
MIN, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SUNDAY = datetime(2026, 11, 29, 7, 0, tzinfo=UTC)
"""18:00 in Sydney."""
HIGH_FLOAT = """
[[tanks]]
id = "top"
name = "Top tank"
fed_by = ["house"]
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "high"
"""
GAUGE = """
[[tanks]]
id = "hill"
name = "Hill tank"
shape = { kind = "litres", litres = 1000, height_m = 1.0 }
  [[tanks.gauges]]
  controller = "ridge"
  input = "L1"
  reads = "percent"
"""
LEVELS = 'silence_after = "off"\n[[controllers.rules]]\ntext = "LEVEL {input} {level}"\nmeans = "level"\n'


@pytest.fixture
def home(tmp_path):
    """A household with these lines in its file; closed at the end."""
    made = []

    def make(rest="", controller='silence_after = "off"', **parts):
        made.append(Days(tmp_path, rest=rest, controller=controller, **parts))
        return made[-1]

    yield make
    for days in made:
        days.store.close()


def share(days, now):
    """What is reckoned to be drawn, as a share of the usual."""
    with days.store.read() as reader:
        return demand_l_day(demand_now(reader, days.site, now)) / demand_l_day(days.site.settings.demand)


def words(days, now):
    """What is said of it."""
    with days.store.read() as reader:
        return presence_said(reader, days.site, now)


def drawn(days):
    """When water was drawn while nobody was there, and of which tank."""
    return [(event.tank, event.at) for event in days.events("draw-while-away")]


def test_nobody_draws_water_until_somebody_says_that_they_are_back(home):
    """Kept, told to the others, said by TANKS; at its end it is asked for once a day, until BACK."""
    days = home()
    assert days.says(NOON, "AWAY until sunday 18:00") == [
        (WREN, "Kept: nobody draws water. Until Sun 18:00. Any draw is told. Send BACK once somebody is there."),
        (ROBIN, "Wren says that nobody draws water. Until Sun 18:00. Any draw is told."),
    ]
    with days.store.read() as reader:
        assert tanks_line(reader, days.site, NOON + H, "mobile").endswith("Nobody draws water until Sun 18:00.")
        assert next_due(reader, days.site, NOON + H, verdicts=False) == SUNDAY
    assert days.time_brings(SUNDAY - timedelta(seconds=1)) == []
    asks = "Nobody was to draw water until {}. Is somebody there again? If so, send BACK. Until then any draw is told."
    assert days.time_brings(SUNDAY) == [(WREN, asks.format("18:00"))]
    assert days.time_brings(SUNDAY + DAY - timedelta(seconds=1)) == []
    assert days.time_brings(SUNDAY + DAY) == [(WREN, asks.format("Sun 18:00"))]
    assert words(days, SUNDAY + DAY) is not None
    assert days.says(SUNDAY + DAY + H, "back") == [
        (WREN, "Kept: somebody is there again."),
        (ROBIN, "Wren says that somebody is there again."),
    ]
    assert words(days, SUNDAY + DAY + H) is None and days.time_brings(SUNDAY + 3 * DAY) == []
    assert [event.kind for event in days.events("away", "back")] == ["away", "back"]


def test_so_many_draw_water_until_their_time_is_over(home):
    """Told to the others; at its end as many as are configured draw again, which is told to who said it."""
    days = home()
    assert days.says(NOON, "PEOPLE 8 until sunday 18:00") == [
        (WREN, "Kept: 8 draw water. Until Sun 18:00."),
        (ROBIN, "Wren says that 8 draw water. Until Sun 18:00."),
    ]
    assert words(days, NOON) == "8 draw water until Sun 18:00" and share(days, NOON) == 2
    assert share(days, SUNDAY) == 1 and words(days, SUNDAY) is None
    assert [number for number, _ in days.time_brings(SUNDAY)] == [WREN] and days.time_brings(SUNDAY + H) == []
    assert [event.kind for event in days.events("people", "people-over")] == ["people", "people-over"]


@pytest.mark.parametrize(
    ("text", "after", "drawn"),
    [
        ("AWAY until sunday 18:00", H, DRIPS),
        ("AWAY", 300 * DAY, DRIPS),
        ("PEOPLE 0 until sunday 18:00", H, DRIPS),
        ("AWAY until sunday 18:00", SUNDAY - NOON, 1),
        ("PEOPLE 8", 300 * DAY, 2),
        ("PEOPLE 1", H, 0.25),
        ("NOTE nothing", H, 1),
    ],
)
def test_what_a_forecast_reckons_with(home, text, after, drawn):
    """An empty house drips; once the end that was named is past, all are reckoned to be there."""
    days = home()
    days.says(NOON, text)
    assert share(days, NOON + after) == pytest.approx(drawn)
    assert share(days, NOON - H) == 1


def test_animals_drink_on(home):
    """Nobody's being there leaves their share."""
    days = home(rest="", wren="")
    demand = days.site.settings.demand
    settings = days.site.settings.model_copy(update={"demand": demand.model_copy(update={"other_litres_day": 480.0})})
    object.__setattr__(days.site, "settings", settings)
    days.says(NOON, "AWAY")
    assert share(days, NOON + H) == pytest.approx(0.5)


def test_a_forecast_goes_by_it(home):
    """Twice as many draw the house tank dry sooner; once somebody drew while all were away it is as if they were there."""
    days = home()
    days.comes(NOON - H, "LINE 1 MADE 0717")

    def likely(now):
        with days.store.read() as reader:
            return forecast_of(reader, days.site, "house", now).dry_at[1]

    usual = likely(NOON + H)
    days.says(NOON, "PEOPLE 16")
    assert likely(NOON + H) < usual
    days.says(NOON + MIN, "AWAY")
    assert likely(NOON + H) > usual
    days.comes(NOON + 2 * MIN, "LINE 1 BROKE 0717")
    days.comes(NOON + 3 * MIN, "LINE 1 MADE 0717")
    assert share(days, NOON + H) == 1


@pytest.mark.parametrize(
    ("texts", "tanks"),
    [
        (["LINE 1 BROKE 0717", "AWAY", "LINE 1 MADE 0717"], ["house"]),
        (["LINE 1 BROKE 0717", "LINE 1 MADE 0717", "AWAY"], []),
        (["LINE 1 MADE 0717", "AWAY", "LINE 1 BROKE 0717"], []),
        (["LINE 2 BROKE 0717", "AWAY", "LINE 2 MADE 0717"], []),
        (["AWAY", "BACK", "LINE 1 MADE 0717"], []),
        (["PEOPLE 1", "LINE 1 MADE 0717"], []),
        (["LINE 1 MADE 0717"], []),
    ],
)
def test_which_float_tells_of_a_draw(home, texts, tanks):
    """One that the water fell below since everybody left, of a tank that feeds the house and no other."""
    days = home()
    for minute, text in enumerate(texts):
        days.comes(NOON + minute * MIN, text, number=RIDGE if text.startswith("LINE") else WREN)
    assert [tank for tank, _ in drawn(days)] == tanks


def test_a_draw_is_told_as_soon_and_ends_with_back_or_over(home):
    """Quiet hours hold it; what was drawn is explained once somebody is there, or says so of that tank."""
    days = home(rest=HIGH_FLOAT, robin='quiet = "12:30-14:00"')
    days.comes(NOON, "LINE 3 MADE 0717")
    days.says(NOON, "AWAY")
    days.comes(NOON + H, "LINE 3 BROKE 0717")
    told = [text for number, text in days.leaves(NOON + H) if number == WREN and "drawn" in text]
    assert told == [
        "Top tank: water was drawn at 13:00, and nobody is there. Look for a leak; close the house valve. "
        "If somebody is there, send BACK."
    ]
    assert any("drawn" in text for _, text in days.leaves(NOON + 2 * H))
    days.comes(NOON + 2 * H, "LINE 3 MADE 0717")
    days.comes(NOON + 3 * H, "LINE 3 BROKE 0717")
    assert not any("drawn" in text for _, text in days.leaves(NOON + 3 * H))
    assert days.says(NOON + 4 * H, "OVER top")[-1] == (WREN, "Kept: Top tank is well again, by your word.")
    assert [event.tank for event in days.events("draw-over")] == ["top"]
    days.comes(NOON + 5 * H, "LINE 3 MADE 0717")
    days.comes(NOON + 6 * H, "LINE 3 BROKE 0717")
    days.says(NOON + 7 * H, "BACK")
    assert [event.detail["lasted_s"] for event in days.events("draw-over")] == [3 * 3600, 3600]
    days.says(NOON + 8 * H, "BACK")
    assert len(days.events("draw-over")) == 2


@pytest.mark.parametrize(
    ("percents", "many"), [((80, 79, 78), 0), ((80, 77, 76.9), 1), ((80, 70, 80), 0), ((50, 60, 70), 0), ((80, 70), 0)]
)
def test_a_gauge_that_falls_tells_of_a_draw(home, percents, many):
    """By more than it errs, in two levels running."""
    days = home(rest=GAUGE, controller=LEVELS)
    days.comes(NOON - H, "LEVEL L1 90")
    days.says(NOON, "AWAY")
    for hour, percent in enumerate(percents, start=1):
        days.comes(NOON + hour * H, f"LEVEL L1 {percent}")
    assert len([tank for tank, _ in drawn(days) if tank == "hill"]) == many


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("AWAY from my desk until monday", "Send AWAY, or with until when: AWAY until sunday 18:00"),
        ("AWAY until someday", "Send AWAY, or with until when: AWAY until sunday 18:00"),
        ("AWAY until", "Send AWAY, or with until when: AWAY until sunday 18:00"),
        ("PEOPLE", "Send PEOPLE, how many, and until when: PEOPLE 8 until sunday"),
        ("PEOPLE many", "Send PEOPLE, how many, and until when: PEOPLE 8 until sunday"),
        ("PEOPLE -8", "Send PEOPLE, how many, and until when: PEOPLE 8 until sunday"),
        ("PEOPLE 8 until someday", "Send PEOPLE, how many, and until when: PEOPLE 8 until sunday"),
        ("PEOPLE 12345", "Send PEOPLE, how many, and until when: PEOPLE 8 until sunday"),
        ("BACK", "Nothing else was said than who is configured."),
    ],
)
def test_what_is_not_understood_is_answered_with_how(home, text, answer):
    """An automatic reply sends nobody away."""
    days = home()
    assert days.says(NOON, text) == [(WREN, answer)]
    assert days.events("away", "people", "back") == ()


@pytest.mark.parametrize("number", [ROBIN, STRANGER])
@pytest.mark.parametrize("text", ["AWAY", "PEOPLE 8", "BACK"])
def test_whoever_may_not_ask_moves_nothing(home, number, text):
    """A stranger, and a contact who may not."""
    days = home(robin="may_ask = false")
    days.says(NOON, "AWAY until sunday 18:00")
    assert days.says(NOON + H, text, number) == []
    assert words(days, NOON + H) == "nobody draws water until Sun 18:00"


def test_the_same_twice_is_told_once(home):
    """Its writer is answered; another end is news."""
    days = home()
    days.says(NOON, "AWAY until sunday 18:00")
    assert [number for number, _ in days.says(NOON + H, "AWAY  until sunday 18:00")] == [WREN]
    assert len(days.events("away")) == 1
    days.says(NOON + 2 * H, "AWAY until saturday")
    assert len(days.events("away")) == 2


@pytest.mark.parametrize("text", ["AWAY", "PEOPLE 8", "BACK"])
def test_what_was_written_before_somebody_said_otherwise_does_nothing(home, text):
    """It lay in the network meanwhile."""
    days = home()
    days.says(NOON, "AWAY until sunday 18:00")
    days.comes(NOON + H, "BACK")
    days.says(NOON + 2 * H, "AWAY until saturday 18:00")
    (answer,) = days.says(NOON + 3 * H, text, at=NOON + MIN)
    assert "came late and does nothing now" in answer[1]
    assert words(days, NOON + 3 * H) == "nobody draws water until Sat 18:00"


def test_an_end_that_is_past_by_now_does_nothing(home):
    """The text took too long."""
    days = home()
    (answer,) = days.says(NOON + 6 * H, "AWAY until 15:00", at=NOON)
    assert "came late" in answer[1] and words(days, NOON + 6 * H) is None


def test_by_the_command_line_all_hear_of_it_and_are_asked(home):
    """Nobody's name is known."""
    days = home(rest="")
    days.at(NOON, lambda unit: say_people(unit, 0, NOON + DAY, by=None))
    text = "somebody says that nobody draws water. Until Thu 12:00. Any draw is told."
    assert days.leaves(NOON) == [(WREN, text), (ROBIN, text)]
    assert {number for number, _ in days.time_brings(NOON + DAY)} == {WREN, ROBIN}
    with days.store.read() as reader:
        assert reader.state(Presence).asked_at == NOON + DAY


def test_a_draw_while_nobody_is_there_brings_the_second_call_forward(home):
    """The low tank was told with what drips in an empty house; once water was drawn it is dry sooner, and the call came by the old time."""
    days = home()
    days.comes(NOON - H, "LINE 1 BROKE 1")
    days.says(NOON, "AWAY")
    days.says(NOON + H, "LINE 1 MADE 1", number=RIDGE)
    with days.store.read() as reader:
        (low,) = (alarm for alarm in reader.alarms() if alarm.kind == "low")
        assert low.dry_early == forecast_of(reader, days.site, "house", NOON + H).dry_at[0]


@pytest.mark.parametrize(
    ("warm", "sooner"), [("", True), ("warm_celsius = 21", False)], ids=["by the month", "as told"]
)
def test_a_herd_drinks_more_in_a_warm_month(tmp_path, warm, sooner):
    """The same tank, low in July and in January: the water lasts less long by the month's own temperature."""
    power = """[controllers.power]
battery = { capacity_ah = 18, volts = 12, chemistry = "lead-acid" }
panel = { watts = 20, tilt_deg = 50, facing_deg = 0 }
load = { standby_ma = 30 }
monthly_celsius = [31, 30, 27, 22, 16, 12, 11, 13, 17, 21, 25, 29]
"""
    lasts = {}
    for month, at in ((7, datetime(2026, 7, 15, 2, 0, tzinfo=UTC)), (1, datetime(2027, 1, 15, 1, 0, tzinfo=UTC))):
        (tmp_path / str(month)).mkdir()
        days = Days(tmp_path / str(month))
        file = tmp_path / str(month) / "gateway.toml"
        text = file.read_text("utf-8").replace(
            "people = 4", f'people = 4\nanimals = [ {{ kind = "heifer", head = 20 }} ]\n{warm}'
        )
        days.settings = load_text(f"{text}\n".replace("[[tanks]]", f"{power}[[tanks]]", 1), "gateway.toml").settings
        days.site = compile_site(days.settings)
        days.comes(at, "LINE 1 MADE 1")
        with days.store.read() as reader:
            lasts[month] = forecast_of(reader, days.site, "house", at).dry_at[1] - at
        days.store.close()
    assert (lasts[1] < 0.8 * lasts[7]) is sooner
