"""One template and one text → what is read, as a table."""

import pytest

from gateway.rules.rulebook import compile_rulebook
from gateway.settings.controller_tables import RuleTable

LINE = RuleTable(text="LINE {input} {state} *", means="input", active=("MADE",), idle=("BROKE",))
LEVEL = RuleTable(
    text="* Tank {input} {state}", means="input", active=("low", "low water"), idle=("ok", "all good again")
)
PACKED = RuleTable(text="IN{input}={state}*", means="input", active=("1",), idle=("0",))
VOLTS = RuleTable(text="SUPPLY {volts} V", means="reading", scope="anywhere")

INPUTS = [
    (LINE, "LINE 1 MADE", ("1", "active")),
    (LINE, "  line\t01 \n made  ", ("1", "active")),
    (LINE, "LINE gully-2 BROKE", ("gully-2", "idle")),
    (LINE, "LINE 1 MADE SUPPLY 12.6 V\nTHANKS", ("1", "active")),
    (LINE, "LINE 1 MADEUP", None),
    (LINE, "LINE 1 MADE.", None),
    (LINE, "LINE 1 HALF", None),
    (LINE, "LINE 1", None),
    (LINE, "RIDGE LINE 1 MADE", None),
    (LINE, "LINE1 MADE", None),
    (LINE, "", None),
    (LEVEL, "Tank 4 LOW", ("4", "active")),
    (LEVEL, "04:11 box: Tank 4  low\nwater", ("4", "active")),
    (LEVEL, "x Tank Top all good AGAIN", ("top", "idle")),
    (LEVEL, "Septic-Tank 4 low", None),
    (LEVEL, "Tank 4 lower", None),
    (PACKED, "IN2=1", ("2", "active")),
    (PACKED, "IN2=12", None),
]


@pytest.mark.parametrize(("rule", "text", "read"), INPUTS)
def test_an_input_is_read_as_the_template_says(rule: RuleTable, text: str, read: tuple[str, str] | None) -> None:
    """Case and runs of white space are alike, words stay whole, unknown state words do not fit."""
    read_text = compile_rulebook([rule]).read(text)
    assert [(reading.input, reading.state) for reading in read_text.readings] == ([read] if read else [])
    assert read_text.rule == (1 if read else None)


LINES = RuleTable(text="LINE {input} {state} *", means="input", active=("MADE",), idle=("BROKE",))
OTHERS = [
    (PACKED, "IN2=0;IN3=1", [("2", "idle"), ("3", "active")]),
    (LINES, "LINE 1 MADE 0642, LINE 2 BROKE 0643", [("1", "active"), ("2", "idle")]),
    (LINES, "LINE 1 MADE since LINE 1 BROKE", [("1", "active")]),
    (LINES, "LINE 1 MADE LINES 2 BROKE", [("1", "active")]),
    (LINES, "LINE 1 MADE LINE 2 JAMMED", [("1", "active")]),
    (RuleTable(text="{input} {state} *", means="input", active=("MADE",)), "1 MADE 2 MADE", [("1", "active")]),
]


@pytest.mark.parametrize(("rule", "text", "read"), OTHERS)
def test_what_a_star_took_of_another_input_is_read_too(rule: RuleTable, text: str, read: list[tuple[str, str]]) -> None:
    """In the same words, where the rule has words of its own; the first says how an input stands that is told of twice."""
    read_text = compile_rulebook([rule]).read(text)
    assert [(reading.input, reading.state) for reading in read_text.readings] == read


def test_what_the_stars_take_is_told() -> None:
    """As it stood in the text, and only where they take any."""
    rule = RuleTable(text="* LINE {input} {state} at * hours *", means="input", active=("MADE",))
    (trial,) = compile_rulebook([rule]).trace("Box 7: LINE 1 Made at 06 hours")
    assert trial.passed_over == ("Box 7:", "06")


STARS = [
    ("POWER * BACK", "power back", True),
    ("POWER * BACK", "POWER IS NOW BACK", True),
    ("POWER * BACK", "POWERBACK", False),
    ("POWER * BACK", "POWER ISBACK", False),
    ("POWER *: BACK", "POWER: BACK", True),
    ("POWER *: BACK", "POWER at home: BACK", True),
    ("POWER* BACK", "POWERED BACK", True),
    ("POWER*BACK", "POWERBACK", True),
    ("* BACK", "BACK", True),
    ("* BACK", "COME BACK", True),
    ("* BACK", "FULLBACK", False),
    ("*BACK", "FULLBACK", True),
    ("a * b * c", "a b b c", True),
    ("a * b * c", "a c b", False),
    ("* *", "", True),
    ("* *", "anything\nat all", True),
    ("{{x}} {*}", "{X} *", True),
    ("{{x}} {*}", "{X} y", False),
    ("Straße *", "STRASSE 5", True),
    ("ΟΔΟΣ", "οδος", True),
    ("a.b+c", "a.b+c", True),
    ("a.b+c", "axb+c", False),
]


@pytest.mark.parametrize(("template", "text", "fits"), STARS)
def test_a_star_takes_anything(template: str, text: str, fits: bool) -> None:
    """Also nothing and line breaks; white space beside it may be missing only where no word is joined by that."""
    assert (compile_rulebook([RuleTable(text=template, means="alive")]).read(text).rule == 1) is fits


NUMBERS = [
    ("B {volts}", "b 12.6", {"volts": 12.6}),
    ("B {volts}", "B 12,6", {"volts": 12.6}),
    ("B {volts}", "B -3", {"volts": -3.0}),
    ("B {volts}", "B 12.6V", None),
    ("B {volts}", "B 1.2.3", None),
    ("B {volts}V *", "B 12.6V T 3", {"volts": 12.6}),
    ("{celsius},{volts}", "21,12.6", {"celsius": 21.0, "volts": 12.6}),
    ("T{celsius}C H{percent}%", "T+4C H80%", {"celsius": 4.0, "percent": 80.0}),
    ("CSQ {signal} *", "CSQ 17", {"signal": 17.0}),
    ("CSQ {signal} *", "CSQ seventeen", None),
    ("by {word} at {percent}%", "BY Straße/7 AT 9%", {"word": "Straße/7", "percent": 9.0}),
]


@pytest.mark.parametrize(("template", "text", "values"), NUMBERS)
def test_numbers_are_read_with_point_or_comma(template: str, text: str, values: dict[str, object] | None) -> None:
    """An optional sign; a unit only where the template says so; a word as it stood."""
    read_text = compile_rulebook([RuleTable(text=template, means="reading")]).read(text)
    assert (read_text.rule is None) == (values is None)
    for name, value in (values or {}).items():
        reading = read_text.readings[0]
        assert (reading.word if name == "word" else reading.numbers[name]) == value


ANYWHERE = [
    ("SUPPLY {volts} V", "LINE 1 SUPPLY 12.6 V, SUPPLY 11 V.", [12.6, 11.0]),
    ("SUPPLY {volts} V", "SUPPLY 12.6 VOLTS", []),
    ("SUPPLY {volts} V", "RESUPPLY 12.6 V", []),
    ("{volts}V", "MADE,1,12.6V", [12.6]),
    ("{volts}V", "B12.6V", []),
    ("* SUPPLY {volts} V *", "now SUPPLY 9 V left", [9.0]),
    ("BATT {volts}", "BATT 12.6.", [12.6]),
    ("BATT {volts}", "BATT 12.6V", []),
]


@pytest.mark.parametrize(("template", "text", "volts"), ANYWHERE)
def test_an_anywhere_rule_reads_every_place(template: str, text: str, volts: list[float]) -> None:
    """Whole words and whole numbers only."""
    rule = RuleTable(text=template, means="reading", scope="anywhere")
    assert [reading.numbers["volts"] for reading in compile_rulebook([rule]).read(text).readings] == volts
