"""A gauge's texts become a tank's level, low and high; what it cannot have read is told, and its tank is unknown."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.facts.states.controllers_and_tanks import GaugeMemory
from gateway.handlers.due import do_what_is_due
from gateway.handlers.read_again import ReadingAgain, texts_of_controllers
from gateway.handlers.thin_levels import thin_levels
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status import summary
from gateway.status.event_wording import told_of
from gateway.status.next_due import next_due
from gateway.status.snapshot import take_snapshot
from tests.handlers.days import Days
from tests.household import RIDGE, WREN, at_home

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
M, H = timedelta(minutes=1), timedelta(hours=1)
RULES = """
  [[controllers.rules]]
  text = "GAUGE {input} {level}"
  means = "level"
"""
HILL = """
[[tanks]]
id = "hill"
name = "Hill tank"
shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }
  [[tanks.gauges]]
  controller = "ridge"
  input = "L1"
  reads = "percent"
  low_m = 0.45
  high_m = 1.7
"""
LOOP = HILL.replace('reads = "percent"', 'reads = "mA"\n  points = [[4, 0], [20, 1.8]]')


@pytest.fixture
def days(tmp_path):
    """The household, with a tank that has a gauge and no float."""
    made = Days(tmp_path, controller=RULES, rest=HILL)
    yield made
    made.store.close()


def reads(days, *levels, every=H, start=JULY):
    """One text after the other; returns when the last came."""
    for place, level in enumerate(levels):
        days.comes(start + place * every, f"GAUGE L1 {level}")
    return start + (len(levels) - 1) * every


def kinds(days):
    """What happened beside the levels themselves, and how it stood at first."""
    told = days.events("low", "low-over", "high", "high-over", "gauge-fault", "gauge-well")
    return [event.kind for event in told if not event.detail.get("first")]


def hill(days, now):
    """The tank as it stands."""
    with days.store.read() as reader:
        return take_snapshot(reader, days.site, now).tank("hill")


def test_a_level_is_measured_and_its_tank_is_ok(days):
    """63 % of 1.8 m is 1.134 m, and what stands in it; the first that is heard calls nobody."""
    now = reads(days, 63)
    tank = hill(days, now)
    assert (tank.state, tank.measured.level_m, tank.measured.at) == ("ok", 1.134, now)
    assert tank.measured.litres == pytest.approx(3562.6, abs=0.1)
    assert days.outbox() == [] and kinds(days) == []


def test_low_is_told_once_and_over_only_beyond_the_band(days):
    """25 % is the limit, 0.05 m more ends it: 27 % is not yet, 28 % is."""
    reads(days, 30, 26, 24.9, 24.2, 26, 27)
    assert kinds(days) == ["low"]
    assert sum("Hill tank LOW since" in text for _, text in days.outbox()) == 2
    assert hill(days, JULY + 5 * H).state == "low"
    now = reads(days, 28, start=JULY + 6 * H)
    assert kinds(days) == ["low", "low-over"]
    assert hill(days, now).state == "ok"


def test_high_too(days):
    """Above 1.7 m, and over below 1.65 m."""
    now = reads(days, 94, 95, 92)
    assert (kinds(days), hill(days, now).state) == (["high"], "high")
    reads(days, 91, start=now + H)
    assert kinds(days)[-1] == "high-over"


def test_a_fill_that_the_supply_can_do_counts_at_once(tmp_path):
    """10 l/min bring 0.19 m an hour into 3.14 m², so that 0.18 m more within one is no odd height: the page shows it right away."""
    days = Days(tmp_path, controller=RULES, rest=HILL + '[source]\npump = { kind = "steady", flow_l_min = 10 }\n')
    now = reads(days, 50, 50, 60)
    assert hill(days, now).measured.level_m == pytest.approx(1.08)
    days.store.close()


def test_a_single_wrong_height_moves_nothing(days):
    """Noise: by the median of three the tank is neither low nor high."""
    now = reads(days, 60, 61, 5, 60, 99, 60)
    assert kinds(days) == []
    assert hill(days, now).measured.level_m == pytest.approx(1.08)


@pytest.mark.parametrize(
    ("levels", "every", "why"),
    [((60, 60, 20), M, "jump"), ((60, 130), H, "range"), ((60, -20), H, "range"), ((60,) * 60, H, "stuck")],
)
def test_what_a_gauge_cannot_have_read_is_told_and_the_tank_is_unknown(days, levels, every, why):
    """Faster than any pipe, more than the tank holds, no change while the house draws: once, in words."""
    now = reads(days, *levels, every=every)
    (fault,) = days.events("gauge-fault")
    assert fault.detail["why"] == why
    assert (hill(days, now).state, hill(days, now).measured) == ("unknown", None)
    told = [text for number, text in days.outbox() if number == WREN]
    assert len(told) == 1 and "Hill tank: its gauge cannot be believed since" in told[0]


def test_a_gauge_is_believed_again_after_two_heights_that_agree(days):
    """One alone may be the next mistake."""
    now = reads(days, 60, 130, 59)
    assert hill(days, now).state == "unknown"
    now = reads(days, 58, start=now + H)
    assert kinds(days)[-1] == "gauge-well" and hill(days, now).state == "ok"
    assert hill(days, now).measured.level_m == pytest.approx(1.044)


def test_a_gauge_that_moves_again_was_stuck_no_longer(days):
    """The first other height ends it."""
    now = reads(days, *[60] * 60, 59)
    assert kinds(days)[-2:] == ["gauge-fault", "gauge-well"] and hill(days, now).state == "ok"


@pytest.mark.parametrize("level", [100, 97])
def test_a_tank_that_overflows_stands_still_and_nothing_is_wrong(days, level):
    """Full is full."""
    reads(days, *[level] * 60)
    assert "gauge-fault" not in kinds(days)


@pytest.mark.parametrize(
    ("signal", "state"),
    [(0.0, "unknown"), (3.6, "unknown"), (3.7, "ok"), (3.8, "low"), (20.5, "high"), (20.7, "ok"), (21.0, "unknown")],
)
def test_a_current_loop_by_namur_ne_43(tmp_path, signal, state):
    """3.6 mA and less, 21 mA and more is a fault; between fault and signal the last value holds."""
    days = Days(tmp_path, controller=RULES, rest=LOOP)
    now = reads(days, 12.0, signal, every=6 * H)
    assert hill(days, now).state == state
    assert ("gauge-fault" in kinds(days)) is (state == "unknown")
    if state == "ok":
        assert hill(days, now).measured.at == JULY and hill(days, now).measured.level_m == pytest.approx(0.9)
    days.store.close()


def test_a_silent_box_makes_its_gauge_unknown(days):
    """What it read last is still told, with its time."""
    reads(days, 63)
    tank = hill(days, JULY + 27 * H)
    assert (tank.state, tank.measured.at) == ("unknown", JULY)


def test_a_gauge_that_tells_nothing_while_its_box_does_is_unknown(days):
    """Its box is heard all the time."""
    reads(days, 63)
    days.comes(JULY + 20 * H)
    assert hill(days, JULY + 25 * H).state == "ok"
    days.comes(JULY + 26 * H)
    assert hill(days, JULY + 26 * H).state == "unknown"


def test_a_level_that_was_overtaken_is_history_only(days):
    """It was low then; nobody is called now."""
    reads(days, 60)
    days.comes(JULY + 2 * H, "GAUGE L1 10", at=JULY - H)
    assert kinds(days) == [] and days.outbox() == []
    assert [event.detail["level_m"] for event in days.events("level")] == [0.18, 1.08]


def test_a_level_of_no_gauge_is_passed_on(days):
    """Word for word, as any input that is nobody's."""
    days.comes(JULY, "GAUGE L7 40")
    ((number, text),) = days.outbox()
    assert number == WREN and "GAUGE L7 40" in text


def test_from_the_text_to_the_phone_and_to_tanks_json(tmp_path, capsys):
    """The main job with a gauge, through serve; and the tank that has nothing to tell of it."""
    barrel = '\n[[tanks]]\nid = "barrel"\nname = "Barrel"\n'
    with at_home(tmp_path, controller=RULES, rest=HILL + barrel) as home:
        home.modem.network.deliver(RIDGE, "GAUGE L1 12")
        home.came("low")
        assert {number for number, text in home.sent(2) if "Hill tank LOW" in text} == {WREN, "+61491570157"}
        assert not home.events("battery-low")
    config = ["--config", str(tmp_path / "gateway.toml"), "--json"]
    assert main(["tanks", *config]) == 0
    tanks = {tank["id"]: tank for tank in json.loads(capsys.readouterr().out)["tanks"]}
    assert tanks["hill"]["state"] == "low" and tanks["hill"]["watched"] is True
    assert tanks["hill"]["measured"]["level_m"] == 0.216
    assert tanks["hill"]["measured"]["litres"] == pytest.approx(678.6, abs=0.1)
    assert (tanks["barrel"]["state"], tanks["barrel"]["watched"]) == ("unknown", False)
    assert "measured" not in tanks["house"]
    assert main(["explain", "GAUGE L1 63", *config]) == 0
    (reading,) = json.loads(capsys.readouterr().out)["readings"]
    assert (reading["means"], reading["input"], reading["tank"], reading["level"]) == ("level", "l1", "hill", 63.0)


FLOAT = """
  [[tanks.floats]]
  controller = "ridge"
  input = 5
  means = "low"
  level_m = 0.9
"""


def test_a_float_and_a_gauge_that_contradict_each_other_are_told_once(tmp_path):
    """The float at 0.9 m says low, the gauge reads 1.4 m: in two levels running; one of them is wrong, and the tank counts as low."""
    days = Days(tmp_path, controller=RULES, rest=HILL + FLOAT)
    days.comes(JULY, "LINE 5 MADE 1")
    reads(days, 78, start=JULY + H)
    assert days.events("gauge-differs") == ()
    now = reads(days, 78.1, 78.2, start=JULY + 2 * H)
    (differs,) = days.events("gauge-differs")
    assert any("reads 1.41 m, its float at 0.9 m says LOW" in text for _, text in days.outbox())
    assert differs.tank == "hill" and hill(days, now).state == "low"
    days.comes(now + H, "LINE 5 BROKE 1")
    reads(days, 78.3, start=now + 2 * H)
    (agrees,) = days.events("gauge-agrees")
    assert agrees.detail["lasted_s"] == (agrees.at - differs.at).total_seconds() > 0
    days.store.close()


@pytest.mark.parametrize(("night_l_h", "told"), [(4, False), (45, True)])
def test_water_that_goes_all_night_is_told_on_the_third_morning(tmp_path, night_l_h, told):
    """By minimum night flow, once; the weekly list has it."""
    days = Days(tmp_path, controller=RULES, rest=HILL.replace('"percent"', '"litres"'))
    midnight = datetime(2026, 7, 6, 14, 0, tzinfo=UTC)
    litres = 5200.0
    for hour in range(24 * 3 + 8):
        at = midnight + hour * H
        days.comes(at, f"GAUGE L1 {litres:.0f}")
        litres -= night_l_h if (hour % 24) < 6 else 10
    flows = days.events("night-flow")
    assert len(flows) == int(told) and not days.events("night-flow-over")
    if told:
        assert flows[0].detail == {"flow_l_h": 45, "nights": 3}
        assert any(
            "Hill tank: water went all night, three nights running: at least 45 l an hour." in t
            for _, t in days.outbox()
        )
        for hour in range(24 * 3 + 8, 24 * 4 + 8):
            days.comes(midnight + hour * H, f"GAUGE L1 {litres:.0f}")
        (over,) = days.events("night-flow-over")
        assert over.detail == {"lasted_s": 2 * 24 * 3600.0}
    days.store.close()


def test_the_forecast_of_a_tank_goes_by_its_gauge(tmp_path, capsys):
    """A fall of 40 l an hour for a day from 4000 l: dry in about three more days."""
    start = datetime.now(UTC).replace(microsecond=0) - 24 * H
    days = Days(tmp_path, controller=RULES, rest=HILL.replace('"percent"', '"litres"'))
    for hour in range(25):
        days.comes(start + hour * H, f"GAUGE L1 {4000 - 40 * hour}")
    days.store.close()
    assert main(["tanks", "--config", str(tmp_path / "gateway.toml"), "--json"]) == 0
    tank = next(tank for tank in json.loads(capsys.readouterr().out)["tanks"] if tank["id"] == "hill")
    low, likely, high = tank["litres"]
    assert low < likely < high and likely == pytest.approx(3040, abs=40)
    early, likely_at, late = (datetime.fromisoformat(at) for at in tank["dry_at"])
    assert early < likely_at < late
    assert (likely_at - start) / H == pytest.approx(24 + 3040 / 40, rel=0.15)


def test_levels_older_than_four_hundred_days_become_one_a_day_with_its_sums(tmp_path):
    """Three days of hours: one level a day is left, with least, most and litres; the texts stay, and younger days are whole."""
    days = Days(tmp_path, controller=RULES, rest=HILL)
    midnight = datetime(2026, 7, 5, 14, 0, tzinfo=UTC)
    for hour in range(72):
        days.comes(midnight + hour * H, f"GAUGE L1 {80 - hour % 24}")
    later = midnight + timedelta(days=402, hours=1)
    assert days.at(later, thin_levels) == 2 * 23
    left = days.events("level")
    assert len(left) == 2 + 24
    day = left[0].detail["day"]
    assert (day["count"], day["least_m"], day["most_m"], day["came_l"]) == (24, 1.026, 1.44, 0.0)
    assert day["went_l"] == pytest.approx((1.44 - 1.026) * 3141.6, abs=1)
    with days.store.read() as reader:
        texts = [text for text in reader.texts() if text.way == "in"]
    assert len(texts) == 72 and {text.event for text in texts[:24]} == {left[0].id}
    assert days.at(later, thin_levels) == 0
    days.store.close()


def test_the_page_draws_the_level_with_the_floats_as_marks(tmp_path, capsys):
    """A line through what was read, the gauge's limits, a dot where the float switched, and the same as a table; the CSV has each."""
    start = datetime.now(UTC).replace(microsecond=0) - 30 * H
    days = Days(tmp_path, controller=RULES, rest=HILL + FLOAT)
    for hour in range(24):
        days.comes(start + hour * H, f"GAUGE L1 {60 - hour}")
    days.comes(start + 11 * H + M, "LINE 5 MADE 1")
    days.store.close()
    config = ["--config", str(tmp_path / "gateway.toml")]
    assert main(["page", str(tmp_path / "page.html"), *config]) == 0
    page = (tmp_path / "page.html").read_text("utf-8")
    (figure,) = [part for part in page.split("<figure ") if "-level-0" in part[:60]]
    assert figure.count('<line class="t-ink"') == 23 + 1  # and the swatch of the legend
    assert figure.count("<circle") == 1 and "between 0.67 and 1.08 m" in figure
    capsys.readouterr()
    assert main(["history", "--tank", "hill", "--csv", *config]) == 0
    assert sum("level_m=" in line for line in capsys.readouterr().out.splitlines()) >= 24


def test_what_is_told_again_later_has_the_level_of_that_time(days):
    """The alarm of a tank that was low at 24 % and is at 10 % now."""
    now = reads(days, 30, 24)
    (low,) = days.events("low")

    def held(at):
        with days.store.read() as reader:
            return told_of(reader, days.site, at, low).values["held"]

    assert held(now) == "1400"
    assert held(reads(days, 18, 10, 10, start=now + H)) == "570"


def tanks_line(days, now, line="mobile"):
    """What TANKS answers."""
    with days.store.read() as reader:
        return summary.tanks_line(reader, days.site, now, line)


def test_tanks_says_how_high_the_water_stands(days):
    """By a gauge that counts now: to the centimetre, and in words for a voice; nothing of one at fault."""
    now = reads(days, 63)
    assert "Hill tank ok 1.13 m." in tanks_line(days, now)
    assert "Hill tank ok, 1.13 metres." in tanks_line(days, now, "landline")
    reads(days, 160, start=now + H)
    assert "Hill tank unknown." in tanks_line(days, now + H)


def due(days, now):
    """What is due then is done; when something is due next."""
    days.at(now, lambda unit: do_what_is_due(unit, verdicts=True))
    with days.store.read() as reader:
        return next_due(reader, days.site, now, verdicts=True)


def test_a_gauge_that_falls_quiet_while_its_box_talks_is_told(days):
    """Once, when its tank becomes unknown, with since when; what it reads then is believed at once."""
    days.configure(controller=f'silence_after = "10h"\n{RULES}', rest=HILL)
    now = reads(days, 63, 62)
    days.comes(now + 5 * H, "STATION WELL 1")
    assert due(days, now + 5 * H) <= now + 10 * H and "gauge-fault" not in kinds(days)
    due(days, now + 10 * H - M)
    assert "gauge-fault" not in kinds(days)
    days.comes(now + 10 * H, "STATION WELL 2")
    due(days, now + 10 * H)
    due(days, now + 11 * H)
    (fault,) = days.events("gauge-fault")
    assert (fault.tank, fault.input, fault.detail["why"], fault.detail["since"]) == (
        "hill",
        "l1",
        "quiet",
        now.isoformat(),
    )
    assert any("says nothing of it" in text and "13:00" in text for _, text in days.outbox())
    assert hill(days, now + 11 * H).state == "unknown"
    reads(days, 60, start=now + 12 * H)
    assert kinds(days)[-1] == "gauge-well" and hill(days, now + 12 * H).state == "ok"


def test_the_gauge_of_a_silent_box_is_not_told_beside_it(days):
    """That the box is silent says it all."""
    days.configure(controller=f'silence_after = "10h"\n{RULES}', rest=HILL)
    now = reads(days, 63, 62)
    due(days, now)
    due(days, now + 30 * H)
    assert [event.kind for event in days.events("silent", "gauge-fault")] == ["silent"]


def test_read_again_sets_the_gauge_right(days):
    """A rule read the battery's number as the level; read by the mended one, the memory is what the texts say."""
    wrong = RULES.replace("GAUGE {input} {level}", "GAUGE {input} * BAT {level}")
    mended = RULES.replace("GAUGE {input} {level}", "GAUGE {input} {level} BAT *")
    days.configure(controller=wrong, rest=HILL)
    now = reads(days, "63 BAT 90", "62 BAT 90", "61 BAT 90")
    assert hill(days, now).measured.level_m == pytest.approx(1.62)
    days.configure(controller=mended, rest=HILL)
    with days.store.write() as tx:
        unit = UnitOfWork(tx=tx, site=days.site, now=now + H, imported=True)
        ReadingAgain().read(unit, texts_of_controllers(tx, days.site, None))
        memory = tx.state(GaugeMemory, "ridge:l1")
    assert (memory.level_m, memory.low, memory.fault) == (pytest.approx(1.098), False, "")
    assert memory.seen_at == now
    days.configure(controller='[[controllers.rules]]\ntext = "GAUGE *"\nmeans = "alive"\n', rest=HILL)
    with days.store.write() as tx:
        unit = UnitOfWork(tx=tx, site=days.site, now=now + H, imported=True)
        ReadingAgain().read(unit, texts_of_controllers(tx, days.site, None))
