"""Silence day by day, with a clock of its own: who is watched from when, what a late text proves, and what probably lies behind it."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.controllers_and_tanks import Silence, Watched, WatchedTogether
from tests.handlers.days import Days

JUNE = datetime(2026, 6, 1, 2, 0, tzinfo=UTC)
JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
JANUARY = datetime(2027, 1, 11, 2, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)
HUT, HUT_NUMBER = (
    """
[[controllers]]
id = "hut"
name = "Hut box"
number = "0491 570 110"
  [[controllers.rules]]
  text = "STATION WELL *"
  means = "alive"
""",
    "+61491570110",
)
SMALL = """
[controllers.power]
battery = { capacity_ah = 7, chemistry = "agm" }
panel = { watts = 10, tilt_deg = 60 }
load = { standby_ma = 30 }
"""


@pytest.fixture
def days(tmp_path):
    """The household, watched from the first of July days."""
    made = Days(tmp_path)
    made.judge(JULY)
    yield made
    made.store.close()


def test_a_controller_that_is_added_later_is_watched_from_then(days):
    """It has a whole limit to be heard in; and once it has gone and come back, another."""
    days.comes(JULY + 400 * H)
    days.configure(rest=HUT)
    assert days.due(JULY + 400 * H) == JULY + 400 * H
    days.judge(JULY + 400 * H)
    assert not days.events("silent")
    days.comes(JULY + 425 * H)
    days.judge(JULY + 427 * H)
    assert [(event.controller, event.detail["never"]) for event in days.events("silent")] == [("hut", True)]
    days.configure()
    days.judge(JULY + 430 * H)
    days.configure(rest=HUT)
    days.at(JULY + 440 * H, lambda unit: unit.tx.clear_state(Silence, "hut"))
    days.judge(JULY + 440 * H)
    assert len(days.events("silent")) == 1


@pytest.mark.parametrize(("known", "silent"), [(True, ["ridge"]), (False, [])])
def test_the_mark_of_the_first_program_is_taken_over_for_who_was_known(days, known, silent):
    """One time for all stood in older stores: it holds for a controller that was heard, and for no other."""
    if known:
        days.comes(JULY - 99 * H)
    days.at(JULY, lambda unit: unit.tx.clear_state(Watched, "ridge"))
    days.at(JULY, lambda unit: unit.tx.set_state(WatchedTogether(since=JULY - 90 * H)))
    days.judge(JULY)
    assert [event.controller for event in days.events("silent")] == silent
    assert days.at(JULY, lambda unit: unit.tx.state(WatchedTogether)) is None


def test_a_text_heard_while_the_clock_was_years_ahead_hides_no_silence(days):
    """The clock jumps to 2036, a text comes, the clock is set right: the box is silent when its own limit is over."""
    days.comes(JULY + H)
    days.comes(JULY + 3650 * DAY)
    days.judge(JULY + 2 * H)
    assert not days.events("silent")
    assert days.due(JULY + 2 * H) < JULY + 28 * H
    days.judge(JULY + 28 * H)
    assert [event.detail["since"] for event in days.events("silent")] == [(JULY + H).isoformat()]


def test_who_was_first_watched_while_the_clock_was_ahead_is_watched_from_now(days):
    """A mark from 2036 would put off every verdict until then."""
    days.configure(rest=HUT)
    days.judge(JULY + 3650 * DAY)
    days.comes(JULY + 20 * H)
    assert days.due(JULY + 20 * H) == JULY + 20 * H
    days.judge(JULY + 20 * H)
    days.judge(JULY + 47 * H)
    assert {"hut"} == {event.controller for event in days.events("silent") if event.at == JULY + 47 * H} - {"ridge"}


def test_nothing_is_due_while_the_clock_is_not_set(days):
    """A board that woke in 1970 judges nobody, and does not look again and again."""
    assert days.due(datetime(1970, 1, 1, 0, 5, tzinfo=UTC)) is None


def test_a_late_text_is_evidence_of_then(days):
    """Stamped 30 hours ago, it ends no silence: that only began later. A fresh one ends it, with how long it truly was."""
    days.comes(JULY)
    days.judge(JULY + 40 * H)
    days.comes(JULY + 50 * H, at=JULY + 12 * H)
    assert len(days.events("silent")) == 1 and not days.events("heard-again")
    days.judge(JULY + 51 * H)
    assert len(days.events("silent")) == 1
    days.comes(JULY + 52 * H)
    assert [event.detail["lasted_s"] for event in days.events("heard-again")] == [40 * 3600]


def test_two_silent_in_one_verdict_without_our_signal_are_our_side(tmp_path):
    """Even where one of them had lost its power: several at once and no network here."""
    days = Days(tmp_path, rest=HUT)
    days.judge(JULY)
    days.comes(JULY + H, "MAINS GONE")
    days.comes(JULY + H, number=HUT_NUMBER)
    days.network(JULY + 2 * H, False)
    days.judge(JULY + 28 * H)
    assert {(event.controller, event.detail["cause"]) for event in days.events("silent")} == {
        ("ridge", "ours"),
        ("hut", "ours"),
    }


def test_a_box_that_died_long_before_proves_nothing_of_our_side(tmp_path):
    """The hut has been silent for a week when our signal goes: the ridge box, without power, is still its own battery."""
    days = Days(tmp_path, rest=HUT)
    days.judge(JULY)
    days.judge(JULY + 30 * H)
    days.comes(JULY + 200 * H, "MAINS GONE")
    days.network(JULY + 201 * H, False)
    days.judge(JULY + 230 * H)
    last = days.events("silent")[-1]
    assert (last.controller, last.detail["cause"], last.detail["because"]) == ("ridge", "battery", "power-lost")


@pytest.mark.parametrize(
    ("power", "start", "volts", "cause", "because"),
    [
        ("", JULY, (12.6, 12.5, 12.4, 12.3), "battery", "falling-volts"),
        ("", JULY, (12.6, 0.3, 12.5, 60, 12.6), None, None),
        ("", JULY, (5.0, 4.8, 4.6, 4.4), None, None),
        (SMALL, JUNE, (12.8, 12.8, 12.8), "battery", "sun-short"),
        (SMALL, JANUARY, (12.8, 12.8, 12.8), None, None),
        (SMALL.replace("capacity_ah = 7", "capacity_ah = 7, volts = 24"), JANUARY, (25.2, 25.0, 24.8), "battery", "falling-volts"),
    ],
)  # fmt: skip
def test_what_lies_behind_a_silence(tmp_path, power, start, volts, cause, because):
    """Falling volts that can be true, or the worst month of a small panel, point at the battery; in summer nothing does."""
    days = Days(tmp_path, controller=power)
    days.judge(start)
    for number, level in enumerate(volts):
        days.comes(start + number * DAY, f"STATION WELL SUPPLY {level} V")
    days.judge(start + 10 * DAY)
    (silent,) = days.events("silent")
    assert (silent.detail.get("cause"), silent.detail.get("because")) == (cause, because)


def test_power_lost_says_how_long_the_battery_lasts_from_its_last_volts(tmp_path):
    """A full battery longer than one that is near its depth limit."""
    lasts = []
    for before in ("12.8", "12.4"):
        folder = tmp_path / before
        folder.mkdir()
        days = Days(folder, controller=SMALL)
        days.comes(JULY, f"STATION WELL SUPPLY {before} V")
        days.comes(JULY + H, "MAINS GONE")
        (lost,) = days.events("power-lost")
        lasts.append(lost.detail["lasts_h"])
        with days.store.read() as reader:
            assert any("may last" in message.text for message in reader.outbox())
    assert lasts[0] > 4 * lasts[1] > 0


BARE = SMALL.replace("panel = { watts = 10, tilt_deg = 60 }\n", "").replace("capacity_ah = 7", "capacity_ah = 70")


@pytest.mark.parametrize(
    ("power", "volts", "says"),
    [
        (BARE, 12.0, "Flat in about 15 days."),
        (BARE, 11.6, "It may stop at any hour."),
        (SMALL, 12.0, "The sun should cover its use: look at its panel."),
        ("", 11.9, "How long it lasts is unknown."),
    ],
)
def test_a_low_battery_is_told_with_how_long_it_lasts(tmp_path, power, volts, says):
    """By what the month's sun leaves it, counted as worn: 70 Ah x 1/4 x 0.836 (9.6 C in July) x 0.8 over 0.74 + 0.04 Ah a day; where nobody
    knows what battery it is, that is said.
    """
    days = Days(tmp_path, controller=power)
    days.comes(JULY, f"STATION WELL SUPPLY {volts} V")
    (told,) = {text for _, text in days.leaves(JULY) if "battery LOW" in text}
    assert says in told and sum(word in told for word in ("Flat in", "any hour", "should cover", "unknown")) == 1


def test_a_charge_in_percent_is_told_low_once(tmp_path):
    """A box that tells percents and no volts: low at a quarter, with the figure; well again once."""
    rule = '[[controllers.rules]]\ntext = "CHARGE {percent} *"\nmeans = "reading"\nscope = "anywhere"\n'
    days = Days(tmp_path, controller=rule)
    left = []
    for number, percent in enumerate((60, 24, 20, 30, 55, 50)):
        days.comes(JULY + number * DAY, f"CHARGE {percent} x")
        left += days.leaves(JULY + number * DAY)
    assert [event.kind for event in days.events("battery-low", "battery-back")] == ["battery-low", "battery-back"]
    assert any("battery LOW, 24 %" in text for _, text in left)


def test_a_box_is_silent_since_its_last_word_wherever_that_is_said(days):
    """`no word since 12:00`, and TANKS and the week's report gave the age of the message: less than an hour, after a day."""
    days.comes(JULY)
    days.judge(JULY + 27 * H)
    days.leaves(JULY + 27 * H)
    ((_, tanks),) = days.says(JULY + 28 * H, "TANKS")
    assert "Ridge box SILENT Mon 12:00 (28 h)." in tanks
    ((_, week),) = days.says(JULY + 28 * H, "WEEK")
    assert "Ridge box SILENT for 28 h;" in week
