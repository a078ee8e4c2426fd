"""The parts of a rule one by one: its template, a match and what it reads, why it does not fit, what it can tell of, its index."""

import pytest

from gateway.facts import Reading
from gateway.rules.answer_pattern import answer_mistake, compile_answer, read_answer, some_rule_reads
from gateway.rules.clock_time import parse_clock
from gateway.rules.compiled_rule import compile_rule, parse_number
from gateway.rules.folded_text import FoldedText
from gateway.rules.regex_words import certain_words
from gateway.rules.rule_index import index_rules, required_runs
from gateway.rules.rulebook import compile_rulebook
from gateway.rules.template import Field, Gap, Star, TemplateWrong, Word, escape_template, parse_template
from gateway.rules.unreachable import can_tell_of_input, hides_rule, sample_texts, states_told_of
from gateway.settings.controller_tables import RuleTable


def rule(**more) -> RuleTable:
    return RuleTable.model_validate({"means": "alive", **more})


INPUT_1 = {"means": "input", "input": 1}


@pytest.mark.parametrize(
    ("template", "pieces"),
    [
        (" a  b ", [Word("a"), Gap(), Word("b")]),
        ("a*b", [Word("a"), Star(), Word("b")]),
        ("* *", [Star()]),
        ("**", [Star()]),
        ("* a", [Star(), Gap(), Word("a")]),
        ("a *", [Word("a"), Gap(), Star()]),
        ("a * * b", [Word("a"), Gap(), Star(), Gap(), Word("b")]),
        ("{{a}}{*}b", [Word("{a}*b")]),
        ("{ Volts }V", [Field("volts"), Word("V")]),
        ("{input}{state}", [Field("input"), Field("state")]),
    ],
)
def test_a_template_in_pieces(template, pieces):
    """Words that touch are one, and so are stars, with or without white space between them."""
    assert list(parse_template(template)) == pieces


@pytest.mark.parametrize(
    ("template", "wrong"),
    [
        ("a }", "a single } stands in the text"),
        ("a { b", "a single { stands in the text"),
        ("{foo}", "{foo} is no field"),
        ("{word} {word}", "the field {word} stands twice"),
        (" ", "the text is empty"),
    ],
)
def test_a_template_that_cannot_be_meant(template, wrong):
    """It says what is wrong."""
    with pytest.raises(TemplateWrong) as error:
        parse_template(template)
    assert error.value.wrong == wrong and error.value.right


@pytest.mark.parametrize("text", ["a {b} * c", "{{", "plain"])
def test_literal_text_in_a_template_means_itself(text):
    """Braces and stars, too."""
    assert compile_rulebook([rule(text=escape_template(text))]).read(text).rule == 1


REGEX_ALIVE = {"regex": r"P(?P<state>\w+)?", "active": ("HI",), "idle": ("LO",)}
REGEX_INPUT = {"regex": r"I(?P<input>\w+)?=?(?P<state>\w+)?", "means": "input", "active": ("HI",), "idle": ("LO",)}
REGEX_LEVEL = {"regex": r"L(?P<input>\d)?=(?P<level>\d+)?", "means": "level"}
REGEX_VOLTS = {"regex": r"B(?P<volts>\S+)", "means": "reading"}


@pytest.mark.parametrize(
    ("table", "text", "reading"),
    [
        (REGEX_ALIVE, "PHI", {"state": "active"}),
        (REGEX_ALIVE, "PLO", {"state": "idle"}),
        (REGEX_ALIVE, "PMID", None),
        (REGEX_ALIVE, "P", {}),
        ({**REGEX_ALIVE, "active": (), "idle": ()}, "PMID", {}),
        ({**REGEX_ALIVE, "active": (), "idle": (), "state": "idle"}, "PMID", {"state": "idle"}),
        (REGEX_INPUT, "I7=HI", {"input": "7", "state": "active"}),
        (REGEX_INPUT, "I07=LO", {"input": "7", "state": "idle"}),
        (REGEX_INPUT, "I7=MID", None),
        (REGEX_INPUT, "I7", None),
        (REGEX_INPUT, "I=HI", None),
        ({**REGEX_INPUT, "input": "Top"}, "I=HI", {"input": "top", "state": "active"}),
        ({**REGEX_INPUT, "state": "idle"}, "I7", {"input": "7", "state": "idle"}),
        (REGEX_LEVEL, "L1=50", {"input": "1", "numbers": {"level": 50.0}}),
        (REGEX_LEVEL, "L=50", None),
        (REGEX_LEVEL, "L1=", None),
        ({**REGEX_LEVEL, "input": 2}, "L=50", {"input": "2", "numbers": {"level": 50.0}}),
        ({"text": "B {volts}", "means": "reading"}, "B 12V6", {"numbers": {"volts": 12.6}}),
        ({"text": "B {state} *", "active": ("low",), "idle": ("low tide",)}, "B low tide", {"state": "idle"}),
        ({"text": "B {state} *", "active": ("low",), "idle": ("low tide",)}, "B low tide.x", {"state": "active"}),
        ({"text": "B {state} * X", "active": ("low",), "idle": ("low tide",)}, "B low tide. X", {"state": "active"}),
        (REGEX_VOLTS, "B12V6", {"numbers": {"volts": 12.6}}),
        (REGEX_VOLTS, "B12..6", None),
        ({"regex": r"W(?P<word>\w*)"}, "Wx", {"word": "x"}),
        ({"regex": r"W(?P<word>\w*)"}, "W", {"word": ""}),
        ({"regex": r"W(?P<word>\w+)?"}, "W", {}),
        ({"regex": r"x*", "scope": "anywhere"}, "y", None),
        ({"regex": r"x+", "scope": "anywhere"}, "yx", {}),
        ({"regex": r"x*"}, "", {}),
    ],
)
def test_what_a_match_reads(table, text, reading):
    """Only what amounts to a reading of the rule's kind: an unknown state word, no input, no level or no number is none."""
    read = compile_rulebook([rule(**table)]).read(text).readings
    means = table.get("means", "alive")
    assert list(read) == ([] if reading is None else [Reading(**{"means": means, "rule": 1, **reading})])


@pytest.mark.parametrize(
    ("written", "number"),
    [
        ("12.6", 12.6),
        ("12,6", 12.6),
        ("−3", -3.0),
        ("12V6", 12.6),
        ("+1", 1.0),
        ("1e999", None),
        ("-1e999", None),
        ("x", None),
    ],
)
def test_a_number_as_it_is_written(written, number):
    """Endless is none."""
    assert parse_number(written) == number


@pytest.mark.parametrize(
    ("written", "hour_minute_second"),
    [
        ("12:00 am", (0, 0, 0)),
        ("12:00 pm", (12, 0, 0)),
        ("1:00 pm", (13, 0, 0)),
        ("11:59 AM", (11, 59, 0)),
        ("140530", (14, 5, 30)),
        ("13:00 pm", None),
        ("0:30 am", None),
        ("24:00", None),
        ("noon", None),
    ],
)
def test_a_time_of_day_as_it_is_written(written, hour_minute_second):
    """By twelve hours or by twenty-four."""
    clock = parse_clock(written)
    assert (None if clock is None else (clock.hour, clock.minute, clock.second)) == hour_minute_second


@pytest.mark.parametrize(
    ("text", "start", "end", "stood"),
    [
        ("Line 1", 0, 4, "Line"),
        ("Straße 7", 0, 7, "Straße"),
        ("Straße 7", 8, 9, "7"),
        ("Straße", 5, 6, "ß"),
        ("Straße", 2, 2, ""),
    ],
)
def test_a_piece_as_it_stood(text, start, end, stood):
    """Also where folding made the text longer."""
    assert FoldedText.of(text).as_it_stood(start, end) == stood


@pytest.mark.parametrize(
    ("table", "text", "why"),
    [
        (rule(**REGEX_ALIVE), "PMID", "'MID' is neither an active nor an idle word: expected HI or LO"),
        (rule(**REGEX_INPUT), "I=HI", "'HI' is neither an active nor an idle word: expected HI or LO"),
        (rule(regex=r"I(?P<input>\d)?", means="input", state="idle"), "I", "fits, but says no input"),
        (rule(**REGEX_LEVEL), "L=50", "fits, but says no input"),
        (rule(regex=r"I(?P<input>\d)", means="input"), "I7", "fits, but says neither active nor idle"),
        (rule(regex="I", **INPUT_1), "I", "fits, but says neither active nor idle"),
        (rule(**REGEX_INPUT), "I7", "fits, but says neither active nor idle"),
        (rule(regex=r"I(?P<input>\d)=(?P<state>\w)", means="input"), "I7=x", "fits, but says neither active nor idle"),
        (rule(text="T={celsius}"), "T=", "the text ends too early: expected a number of degrees"),
        (rule(**REGEX_VOLTS), "B12..6", "fits, but a number in it cannot be read"),
        (rule(**REGEX_LEVEL), "L1=", "fits, but a number in it cannot be read"),
        (rule(text="* PUMP ON"), "VALVE", "expected PUMP somewhere in the text"),
        (rule(text="* PUMP ON"), "A PUMP OFF", "stops at 'OFF': expected ON"),
        (rule(text="A* B C"), "A x", "expected B somewhere after 'A'"),
        (rule(text="PUMP ON"), "PUMPS", "stops at 'PUMPS': expected PUMP"),
        (rule(text="B {volts} V"), "B x V", "stops at 'x': expected a number"),
        (rule(text="B {volts}"), "B", "the text ends too early: expected a number"),
        (rule(text="A {input} B"), "A . B", "stops at '.': expected an input (one word or number)"),
        (rule(text="A {state} B", active=("ON", "up")), "A x B", "stops at 'x': expected ON or UP"),
        (rule(text="A {state} B"), "A . B", "stops at '.': expected a state word"),
        (rule(text="A B"), f"A {'x' * 30}", f"stops at '{'x' * 24}': expected B"),
        (rule(text="A B"), "A B C", "stops at 'C': expected nothing more"),
    ],
)
def test_why_a_rule_does_not_fit(table, text, why):
    """In plain words, with the place where it stops."""
    (trial,) = compile_rulebook([table]).trace(text)
    assert not trial.fitted and trial.why.startswith(why), trial.why


def test_what_a_trial_that_fits_shows():
    """How often, what its fields took, and what its stars passed over."""
    (trial,) = compile_rulebook([rule(text="{volts}V", scope="anywhere", means="reading")]).trace("12V and 13V")
    assert (trial.why, dict(trial.fields), trial.passed_over) == ("fits at 2 places", {"volts": "12"}, ())
    (trial,) = compile_rulebook([rule(text="A {word} * B")]).trace("A Xy b B")
    assert (trial.why, dict(trial.fields), trial.passed_over) == ("fits", {"word": "Xy"}, ("b",))
    (trial,) = compile_rulebook([rule(text="A {word} * B")]).trace("A Xy B")
    assert (dict(trial.fields), trial.passed_over) == ({"word": "Xy"}, ())
    (trial,) = compile_rulebook([rule(regex=r"A (?P<word>\w+)( (?P<input>\d))?")]).trace("a Xy")
    assert (dict(trial.fields), trial.passed_over) == ({"word": "Xy"}, ())


@pytest.mark.parametrize(
    ("template", "text", "passed_over"),
    [
        ("* B", "a B", ("a",)),
        ("A *", "A b", ("b",)),
        ("A * B * C", "A x y B C", ("x y",)),
        ("A* B", "Ax B", ("x",)),
        ("A *B", "A xB", ("x",)),
        ("A*B", "AxB", ("x",)),
        ("*", "x", ("x",)),
        ("A* B *C", "Ax y B z C", ("x y", "z")),
    ],
)
def test_what_each_star_passes_over(template, text, passed_over):
    """With or without white space beside it, at an end or between words."""
    (trial,) = compile_rulebook([rule(text=template)]).trace(text)
    assert trial.fitted and trial.passed_over == passed_over


@pytest.mark.parametrize(
    ("pattern", "whole", "words"),
    [
        ("LINE 7", True, ["line", "7"]),
        ("LINE 7", False, []),
        ("A LINE 7", False, ["line"]),
        ("[Ü] LINE", True, []),  # letters outside ASCII may fold into others
        ("(?i) LINE", True, []),
        ("(?:A) LINE", True, ["line"]),
        (r"LINE\s+\d", True, ["line"]),
        (r"LINE\s\d", True, ["line"]),
        (r"LINE\s?\d", True, []),
        (r"LINE\s{0,2}\d", True, []),
        (r"^LINE\b", True, ["line"]),
        (r"LINE\b?", True, []),
        (r"LINE\. B", True, ["line", "b"]),
        (r"LINE\.? B", True, ["b"]),
        (r"LINE, B", True, ["line", "b"]),
        (r"LINE. B", True, ["b"]),
        (r"LINE\d B", True, ["b"]),
        (r"LINE(A) B", True, ["b"]),
        (r"LINE[AB] B", True, ["b"]),
        ("LINE) B", True, []),
    ],
)
def test_words_that_are_sure(pattern, whole, words):
    """Nothing beside them may be missing or go on."""
    assert certain_words(pattern, whole=whole) == words


@pytest.mark.parametrize(
    ("table", "runs"),
    [
        (rule(text="LINE {input} UP"), [{"line"}, {"up"}]),
        (rule(text="LINE*"), []),
        (rule(text="LINE *"), [{"line"}]),
        (rule(text="LINE7*"), [{"line"}]),
        (rule(text="*7LINE"), [{"line"}]),
        (rule(text="{volts}V"), [{"v"}]),
        (rule(text="B{volts}"), [{"b"}]),
        (rule(text="7{volts}"), []),
        (rule(text="B{word}"), []),
        (rule(text="{word}B"), []),
        (rule(text="A {state}", active=("ON",), idle=("all off", "x")), [{"a"}, {"on", "all", "x"}]),
        (rule(text="A {state}", active=("ON",), idle=("!",)), [{"a"}]),
        (rule(text="A {state}"), [{"a"}]),
        (rule(text="A {state}*", active=("ON",), idle=("OFF",)), [{"a"}]),
        (rule(regex="LINE A"), [{"line"}, {"a"}]),
        (rule(regex="LINE A", scope="anywhere"), []),
    ],
)
def test_what_must_stand_in_a_text(table, runs):
    """Whole runs of letters or digits, whatever a field or star beside them takes; of the state words one."""
    assert [set(keys) for keys in required_runs(compile_rule(table, 1))] == runs


@pytest.mark.parametrize(
    ("text", "tried"),
    [("BOX OF", [3]), ("alpha", [1, 3]), ("beta", [3, 4]), ("beta alpha", [1, 3, 4]), ("sump", [2, 3])],
)
def test_a_rule_is_filed_under_its_rarest_word(text, tried):
    """Of two that are as rare under the longer one; a broken one nowhere, one without words for every text; in the order of the file."""
    tables = [
        rule(text="BOX alpha"),
        rule(text="SUMP OF"),
        rule(text="{word}"),
        rule(text="BOX beta"),
        rule(text="{x}"),
    ]
    index = index_rules([compile_rule(table, number) for number, table in enumerate(tables, start=1)])
    assert [each.number for each in index.candidates(FoldedText.of(text))] == tried


LINE = {"text": "LINE {input} {state}", "means": "input", "active": ("MADE",), "idle": ("BROKE",)}


@pytest.mark.parametrize(
    ("table", "input_name", "told"),
    [
        (LINE, 1, {"active", "idle"}),
        (LINE, "gully-2", {"active", "idle"}),
        (LINE, "two words", set()),
        ({**LINE, "idle": ()}, 1, {"active"}),
        ({**INPUT_1, "text": "DRY", "state": "active"}, 1, {"active"}),
        ({**INPUT_1, "text": "DRY", "state": "active"}, "01", {"active"}),
        ({**INPUT_1, "text": "DRY", "state": "active"}, 2, set()),
        ({**INPUT_1, "text": "DRY {state}", "state": "active"}, 1, {"active"}),
        (
            {"means": "input", "regex": r"(?P<input>\d)(?P<state>\w)?", "state": "idle", "active": ("x",)},
            9,
            {"active", "idle"},
        ),
        ({"means": "input", "regex": r"(?P<input>\d)", "state": "idle", "active": ("x",)}, 9, {"idle"}),
        ({**INPUT_1, "regex": r"(?P<state>\w)", "active": ("x",)}, 1, {"active"}),
        ({**INPUT_1, "regex": r"(?P<state>\w)", "active": ("x",)}, 2, set()),
        ({**INPUT_1, "regex": r"(?P<state>\w", "active": ("x",)}, 1, set()),
    ],
)
def test_which_states_of_an_input_any_text_could_tell(table, input_name, told):
    """By its words, or the one that is fixed; of an input that it reads or fixes."""
    rules = [rule(**table)]
    assert states_told_of(rules, input_name) == told
    assert can_tell_of_input(rules, input_name) is bool(told)
    assert not can_tell_of_input(rules, input_name, "level")


@pytest.mark.parametrize(
    ("earlier", "later", "hidden"),
    [
        ({"text": "A *"}, {"text": "A b"}, True),
        ({"text": "A *"}, {"text": "A b", "scope": "anywhere"}, False),
        ({"text": "A *", "scope": "anywhere"}, {"text": "A b"}, False),
        ({"text": "A {"}, {"text": "A b"}, False),
        ({"text": "A *"}, {"text": "A {"}, False),
        ({"regex": "A"}, {"regex": "A"}, True),
        ({"regex": "A"}, {"regex": "B"}, False),
        ({"regex": "A"}, {"regex": "A", "means": "ignore"}, False),
        ({"regex": r"(?P<state>\w)", "active": ("x",)}, {"regex": r"(?P<state>\w)", "active": ("x", "y")}, False),
        ({"regex": r"(?P<state>\w)", "active": ("x", "y")}, {"regex": r"(?P<state>\w)", "active": ("y",)}, True),
        ({"text": "A 1"}, {"text": "A {input}"}, False),
        ({"text": "A {input}"}, {"text": "A {word}"}, False),
        ({"text": "A {word}"}, {"text": "A {input}"}, True),
        ({"text": "A {time}"}, {"text": "A {time}"}, True),
        ({"text": "A {word}"}, {"text": "A {state}"}, True),
    ],
)
def test_when_a_rule_hides_another(earlier, later, hidden):
    """Only where every text of the later one is read by the earlier one."""
    assert hides_rule(rule(**earlier), rule(**later)) is hidden


@pytest.mark.parametrize(
    ("template", "count"), [("A b", 1), ("A {input}", 4), ("{input} {volts}", 16), ("* {input} {volts} *", 576)]
)
def test_texts_that_a_template_fits(template, count):
    """Every way to fill it, each once."""
    texts = list(sample_texts(compile_rule(rule(text=template), 1)))
    assert len(texts) == len(set(texts)) == count


def test_of_too_many_texts_an_even_spread():
    """At most two thousand."""
    texts = list(sample_texts(compile_rule(rule(text="* {input} * {volts} * {word} *"), 1)))
    assert 1000 < len(texts) <= 2000 and len({text.split()[-1] for text in texts}) > 3
    assert list(sample_texts(compile_rule(rule(regex="A"), 1))) == []


@pytest.mark.parametrize(
    ("answer", "text", "reads"),
    [("OK {volts}V", "ok 12.6V", {"volts": 12.6}), ("OK *", "OK then", {}), ("OK", "NOT OK", None)],
)
def test_the_answer_of_an_errand(answer, text, reads):
    """A pattern as in rules; its reading is of no rule."""
    reading = read_answer(compile_answer(answer), text)
    assert (None if reading is None else (reading.rule, dict(reading.numbers))) == (
        None if reads is None else (0, reads)
    )


@pytest.mark.parametrize(("answer", "wrong"), [("OK *", None), ("OK {", "a single { stands in the text")])
def test_an_answer_that_no_text_fits(answer, wrong):
    """It says what is wrong, and what would be right."""
    mistake = answer_mistake(answer)
    assert (mistake and mistake[0]) == wrong and (mistake is None or mistake[1])


@pytest.mark.parametrize(
    ("answer", "rules", "read"),
    [
        ("OK", [rule(text="OK")], True),
        ("OK", [rule(text="NO")], False),
        ("*", [rule(text="STATION WELL")], True),
        ("OK *", [rule(text="* 12.6 V")], False),
        ("OK *", [rule(text="OK {volts} V")], True),
        ("OK", [], False),
    ],
)
def test_whether_any_rule_reads_an_answer(answer, rules, read):
    """Tried with texts of the pattern and of the rules."""
    assert some_rule_reads(compile_rulebook(rules), answer) is read


EVIL = {"regex": r"(a|aa)+$"}


def test_after_four_that_ran_over_their_limit_the_others_have_a_tenth():
    """However many patterns run away, a text does not wait for long; each is named."""
    book = compile_rulebook([rule(**EVIL)] * 6, limit_s=0.01)
    text = "a" * 2000 + "b"
    assert [trial.why for trial in book.trace(text)] == [
        *["given up: its pattern took longer than 10 ms"] * 4,
        *["given up: its pattern took longer than 1 ms"] * 2,
    ]
    assert book.read(text).timed_out == (1, 2, 3, 4, 5, 6)


@pytest.mark.parametrize(
    ("more", "passed_on"),
    [
        ({}, True),
        ({"text": "LINE {input} MADE", "state": "active"}, False),  # it reads no state
        ({"text": "{input} {state}"}, False),  # no words of its own
        ({"text": "7 {input} {state}"}, False),
        ({"means": "alive"}, False),
        ({"scope": "anywhere"}, False),
        ({"active": (), "idle": ()}, False),
        ({"text": None, "regex": r"LINE (?P<input>\d) (?P<state>MADE)"}, False),
        ({"text": "LINE {"}, False),
    ],
)
def test_which_rule_has_a_form_that_an_unlisted_state_must_not_hide_in(more, passed_on):
    """A whole-text template about inputs, with words and states: what has its form and says another state is passed on."""
    numbers = rule(text="{volts}V", scope="anywhere", means="reading")
    text = {"7 {input} {state}": "7 1 JAMMED", "{input} {state}": "1 JAMMED"}.get(more.get("text", ""), "LINE 1 JAMMED")
    lines = rule(**{**LINE, "text": "LINE {input} {state} *", **more})
    if more.get("text"):
        lines = lines.model_copy(update={"text": f"{more['text']} *"})
    read = compile_rulebook([lines, numbers]).read(f"{text} 12.6V")
    assert read.rule == (None if passed_on else 2) and read.readings[-1].numbers == {"volts": 12.6}


@pytest.mark.parametrize(
    ("more", "read"),
    [
        ({}, [("1", "active"), ("2", "idle")]),
        ({"text": "LINE {input} {state}"}, []),
        ({"text": "LINE {input} {state}", "scope": "anywhere"}, [("1", "active"), ("2", "idle"), ("1", "idle")]),
        ({"text": "{input} {state} *"}, []),
        ({"text": "LINE {input} MADE *", "state": "active", "active": (), "idle": ()}, [("1", "active")]),
        ({"text": "LINE 1 {state} *", "input": 1}, [("1", "active")]),
        ({"means": "alive"}, [("1", "active")]),
        ({"text": None, "regex": r"LINE (?P<input>\d) (?P<state>MADE|BROKE).*"}, [("1", "active")]),
    ],
)
def test_what_of_other_inputs_a_star_took(more, read):
    """Read where the rule is a template about inputs with words of its own, both fields and a star."""
    lines = rule(**{**LINE, "text": "LINE {input} {state} *", **more})
    readings = compile_rulebook([lines]).read("LINE 1 MADE LINE 2 BROKE LINE 1 BROKE").readings
    assert [(reading.input, reading.state) for reading in readings] == read


def test_a_trace_goes_on_beside_the_rule_that_fits():
    """What stands below it was not tried, unless it reads anywhere."""
    tables = [
        rule(text="x"),
        rule(text="{volts}V", scope="anywhere"),
        rule(text="A *"),
        rule(text="A B"),
        rule(text="W", scope="anywhere"),
    ]
    trials = compile_rulebook(tables).trace("A 12V")
    assert [trial.fitted for trial in trials] == [False, True, True, False, False]
    assert [trial.why for trial in trials[3:]] == [
        "not tried: rule 3 fits and comes first",
        "does not stand anywhere in the text",
    ]
