"""Boxes that tell levels, in many dialects: labelled samples become rules that pass `check`, read the texts held out, and serve."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.rules.rulebook import compile_rulebook
from gateway.settings.load import load_text
from gateway.suggest.suggest_rules import suggest_rules
from tests.handlers.days import Days
from tests.household import write_config

DIALECTS = (
    "TANK {n} LEVEL {x} %",
    "{clock} {name}: level {x}cm, bat {v}V",
    "LVL{n}={x};VBAT={v};CSQ={s}",
    "{name} Füllstand {x} % Batterie {v} V",
    "Depth of {name} is {x} m at {clock}",
    "[{date} {clock}] CH{n} {x}mA",
    "nivel {name} {x} % señal {s}",
    "Report {s}: contents {n} = {x} litres",
    "{name} рівень {x} см",
    "T{n} {x}% T=8C",
)
NAMES = ("north", "yard", "upper")


def texts(dialect, seed, count):
    """(input, level, text) each."""
    draw = random.Random(f"{dialect} {seed}")
    for _ in range(count):
        n = draw.randrange(3)
        level = f"{draw.uniform(5.1, 99.9):.1f}"
        filled = dialect.format(
            n=n + 1,
            name=NAMES[n],
            x=level,
            v=f"{draw.uniform(11.8, 13.9):.1f}",
            s=draw.randrange(3, 31),
            clock=f"{draw.randrange(24):02}:{draw.randrange(60):02}",
            date=f"2026-{draw.randrange(1, 13):02}-{draw.randrange(1, 29):02}",
        )
        yield (NAMES[n] if "{name}" in dialect else str(n + 1)), float(level), filled


@pytest.mark.parametrize("dialect", DIALECTS)
def test_levels_are_read_from_texts_that_were_held_out(dialect, tmp_path):
    """Eight samples, forty held out: each with its input and its level, and no level is taken for a battery's percent."""
    lines = [f"level {name}\t{text}" for name, _, text in texts(dialect, "train", 8)]
    rules = suggest_rules(lines).toml
    file = write_config(tmp_path, controller=rules.replace("[[controllers.rules]]", "[[controllers.rules]]"))
    settings = load_text(file.read_text("utf-8"), "gateway.toml", EXTRA_CHECKS).settings
    book = compile_rulebook(settings.controllers[0].rules)
    for name, level, text in texts(dialect, "held", 40):
        readings = [reading for reading in book.read(text).readings if reading.means == "level"]
        assert [(reading.input, reading.numbers["level"]) for reading in readings] == [(name, level)], text
        assert all(level != reading.numbers.get("percent") for reading in book.read(text).readings), text


def test_a_level_box_serves_by_what_was_suggested(tmp_path):
    """The proposal pasted, a gauge on it: low is told at 12 %, and the battery is nobody's matter."""
    lines = [f"level {name}\t{text}" for name, _, text in texts(DIALECTS[0], "train", 8)]
    gauge = (
        '\n[[tanks]]\nid = "hill"\nname = "Hill tank"\n'
        'shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }\n'
        '  [[tanks.gauges]]\n  controller = "ridge"\n  input = 3\n  low_m = 0.45\n'
    )
    days = Days(tmp_path, controller=suggest_rules(lines).toml, rest=gauge)
    days.comes(datetime(2026, 7, 6, tzinfo=UTC), "TANK 3 LEVEL 40 %")
    days.comes(datetime(2026, 7, 6, tzinfo=UTC) + timedelta(hours=12), "TANK 3 LEVEL 12 %")
    assert len(days.events("low")) == 1 and days.events("battery-low") == ()
    days.store.close()


SEVERAL = (
    "T1 {a} % T2 {b} % T3 {c} %",
    "L1={a};L2={b};L3={c};VBAT=12.{v}",
    "{clock} CH1 {a}mA CH2 {b}mA CH3 {c}mA signal {v}",
    "Report: tank 1 level {a} cm, tank 2 level {b} cm, tank 3 level {c} cm. Battery 12.{v} V",
    "[1]{a}% [2]{b}% [3]{c}%",
)


def texts_of_several(dialect, seed, count):
    """Three levels each, and their text."""
    draw = random.Random(f"{dialect} {seed}")
    for _ in range(count):
        levels = [f"{draw.uniform(5.1, 99.9):.1f}" for _ in range(3)]
        a, b, c = levels
        clock = f"{draw.randrange(24):02}:{draw.randrange(60):02}"
        yield [float(level) for level in levels], dialect.format(a=a, b=b, c=c, v=draw.randrange(2, 9), clock=clock)


@pytest.mark.parametrize("dialect", SEVERAL)
def test_several_gauges_in_one_text_are_each_read(dialect, tmp_path):
    """Three samples, each labelled with one of its gauges; of twenty held out every gauge is read, and nothing else as a level."""
    train = [text for _, text in texts_of_several(dialect, "train", 3)]
    rules = suggest_rules([f"level {number}\t{text}" for number, text in enumerate(train, start=1)]).toml
    file = write_config(tmp_path, controller=rules)
    settings = load_text(file.read_text("utf-8"), "gateway.toml", EXTRA_CHECKS).settings
    book = compile_rulebook(settings.controllers[0].rules)
    for levels, text in texts_of_several(dialect, "held", 20):
        read = book.read(text)
        found = {reading.input: reading.numbers["level"] for reading in read.readings if reading.means == "level"}
        assert found == {"1": levels[0], "2": levels[1], "3": levels[2]}, (text, rules)
        assert read.rule is not None


def test_what_only_looks_like_another_gauge_makes_no_rule_of_its_form():
    """`north 63 % humidity 40 %`: the second is no gauge."""
    rules = suggest_rules(["level north\tnorth 63 % humidity 40 %", "level north\tnorth 12 % humidity 70 %"]).rules
    assert [suggested.rule.scope for suggested in rules if suggested.rule.means == "level"] == ["whole"]


@pytest.mark.parametrize(("text", "kept"), [("Cistern {} %", False), ("LVL {}%", False), ("BATT {}%", True)])
def test_a_percentage_of_which_nobody_said_what_it_is_is_no_battery(text, kept):
    """Of a text without a label only what names its battery is kept: a tank at 12 % would be a battery that is low."""
    proposed = suggest_rules([f"?\t{text.format(percent)}" for percent in (78, 74, 63)]).toml
    assert ("{percent}" in proposed) is kept
