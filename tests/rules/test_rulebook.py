"""Several rules and one text → which of them reads it, why not the others, and how long it may take."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.facts import Reading
from gateway.rules.folded_text import FoldedText
from gateway.rules.regex_words import certain_words
from gateway.rules.rule_checks import find_rule_oddities, find_rule_problems
from gateway.rules.rulebook import compile_rulebook
from gateway.rules.unreachable import hides_rule
from gateway.settings.controller_tables import RuleTable

LINE = RuleTable(text="LINE {input} {state} *", means="input", active=("MADE",), idle=("BROKE",))
LINE_2 = RuleTable(text="LINE 2 {state} *", means="input", input=2, active=("MADE",), idle=("BROKE",))
VOLTS = RuleTable(text="{volts}V", means="reading", scope="anywhere")
FIXED = RuleTable(text="SPRING DRY *", means="input", input=2, state="active")
REGEX = RuleTable(regex=r"P(?P<input>\d):(?P<state>\w+)( (?P<volts>\S+))?", means="input", active=("HI",), idle=("LO",))
IGNORE = RuleTable(text="AD *", means="ignore")
EVIL = RuleTable(regex=r"(a|aa)+$", means="alive")

ORDER = [
    ([LINE, LINE_2], "LINE 2 MADE", 1),
    ([LINE_2, LINE], "LINE 2 MADE", 1),
    ([LINE_2, LINE], "LINE 3 MADE", 2),
    ([VOLTS, LINE], "LINE 3 MADE", 2),
    ([VOLTS, LINE], "LINE 3 MADE 12V", 2),
    ([VOLTS, LINE], "HELLO 12V", 1),
    ([IGNORE, LINE], "ad: buy now", None),
    ([IGNORE, LINE], "ad buy now", 1),
    ([FIXED], "spring dry", 1),
    ([REGEX], "p1:hi", 1),
    ([REGEX], "P1:MID", None),
    ([REGEX], "P1:HI x", None),
]


@pytest.mark.parametrize(("rules", "text", "number"), ORDER)
def test_the_first_whole_rule_that_fits_wins(rules: list[RuleTable], text: str, number: int | None) -> None:
    """Anywhere rules apply in addition and name the text only where no whole-text rule fits."""
    assert compile_rulebook(rules).read(text).rule == number


def test_what_the_rules_read_is_handed_on_whole() -> None:
    """The whole-text reading first, then those found anywhere; fixed input and state stand in."""
    read = compile_rulebook([VOLTS, FIXED]).read("SPRING DRY 11.9V 12.0V")
    assert read.readings == (
        Reading(means="input", rule=2, input="2", state="active"),
        Reading(means="reading", rule=1, numbers={"volts": 11.9}),
        Reading(means="reading", rule=1, numbers={"volts": 12.0}),
    )
    assert compile_rulebook([IGNORE]).read("AD").readings == (Reading(means="ignore", rule=1),)


TRACES = [
    (LINE, "LINE 1 HALF", "stops at 'HALF': expected MADE or BROKE"),
    (LINE, "LINE 1", "the text ends too early: expected MADE or BROKE"),
    (LINE, "LINES 1 MADE", "stops at 'LINES': expected LINE"),
    (RuleTable(text="PUMP OFF", means="alive"), "PUMP OFF NOW", "stops at 'NOW': expected nothing more"),
    (RuleTable(text="PUMP * OFF", means="alive"), "PUMP ON", "expected OFF somewhere after 'PUMP'"),
    (REGEX, "P1:MID", "'MID' is neither an active nor an idle word: expected HI or LO"),
    (REGEX, "P1", "the regex does not fit the whole text"),
    (VOLTS, "LINE", "does not stand anywhere in the text"),
    (EVIL, "a" * 2000 + "b", "given up: its pattern took longer than 50 ms"),
    (RuleTable(regex="(", means="alive"), "x", "cannot fit: the regex is wrong: missing ) at position 1"),
]


@pytest.mark.parametrize(("rule", "text", "why"), TRACES)
def test_a_trace_says_why_a_rule_does_not_fit(rule: RuleTable, text: str, why: str) -> None:
    """In plain words, with the place where it stops."""
    (trial,) = compile_rulebook([rule]).trace(text)
    assert (trial.fitted, trial.why) == (False, why)


def test_a_trace_names_the_fields_and_what_was_not_tried() -> None:
    """The rule that fits shows what it took; those below it were not tried."""
    first, second, third = compile_rulebook([LINE, LINE_2, VOLTS]).trace("Line 02 Made 12.6V")
    assert (first.fitted, dict(first.fields)) == (True, {"input": "02", "state": "Made"})
    assert (second.fitted, second.why) == (False, "not tried: rule 1 fits and comes first")
    assert (third.fitted, dict(third.fields)) == (True, {"volts": "12.6"})


EVILS = [
    (r"(a+)+$", "a" * 2000 + "b"),
    (r"(a|aa)+$", "a" * 2000 + "b"),
    (r"(.*)*x", "a" * 2000),
    (r"(\w+\s?)*$", "a " * 1000 + "!"),
    (r"((a)|(?R))*b", "a" * 500),
]


@pytest.mark.parametrize(("pattern", "text"), EVILS)
def test_evil_patterns_are_given_up_and_the_next_rule_reads(pattern: str, text: str) -> None:
    """Fault 36: the limit holds; what ran over it is named, if it did, and the others go on."""
    read = compile_rulebook([RuleTable(regex=pattern, means="alive"), RuleTable(text="*", means="ignore")]).read(text)
    assert read.rule == 2
    assert read.timed_out in ((), (1,))


def test_a_rule_over_its_limit_is_named() -> None:
    """Whole and anywhere alike."""
    anywhere = RuleTable(regex=r"(a+)+\d", means="alive", scope="anywhere")
    assert compile_rulebook([EVIL, anywhere], limit_s=0.01).read("a" * 2000 + "b").timed_out == (1, 2)


def test_templates_never_run_over_their_limit() -> None:
    """However many stars: the work grows with the text times the template."""
    stars = RuleTable(text="* a * a * a {word} * a * a {input} * a * b", means="alive")
    assert compile_rulebook([stars]).read("a " * 1000).timed_out == ()


PIECES = st.sampled_from(["*", " ", "{input}", "{state}", "{volts}", "{word}", "LINE", "a", "{{", "}", "x", "7", "ß"])


@given(st.lists(PIECES, max_size=8).map("".join), st.text(max_size=60), st.sampled_from(["whole", "anywhere"]))
@settings(max_examples=300, deadline=None)
def test_no_template_and_no_text_raises(template: str, text: str, scope: str) -> None:
    """Reading and tracing never fail, and they are of one opinion; a rule without problems is never broken."""
    rule = RuleTable.model_validate({"text": template, "means": "alive", "scope": scope, "active": ["a", "x 7"]})
    book = compile_rulebook([rule])
    assert (book.read(text).rule == 1) == book.trace(text)[0].fitted
    assert bool(book.rules[0].broken) <= bool(find_rule_problems(rule))


@given(
    st.lists(st.sampled_from(["*", "LINE", "MADE", "{input}", "7", "{volts}V", "b-7"]), min_size=1, max_size=5),
    st.data(),
)
@settings(max_examples=200, deadline=None)
def test_a_template_reads_what_it_was_filled_with(parts: list[str], data: st.DataObject) -> None:
    """Stars filled with words, fields with their kind: the text fits, and the index never hides it."""
    fill = {
        "*": st.sampled_from(["", "q", "q 8 r"]),
        "{input}": st.sampled_from(["1", "up"]),
        "{volts}V": st.just("12.6V"),
    }
    text = " ".join(data.draw(fill.get(part, st.just(part))) for part in parts)
    rule = RuleTable(text=" ".join(parts), means="alive")
    if parts.count("{input}") < 2 and parts.count("{volts}V") < 2:
        assert compile_rulebook([rule]).read(text.swapcase()).rule == 1


PROBLEMS = [
    (RuleTable(means="alive"), ["text"]),
    (RuleTable(text="a", regex="a", means="alive"), ["text"]),
    (RuleTable(text="a{b", means="alive"), ["text"]),
    (RuleTable(text="a {foo}", means="alive"), ["text"]),
    (RuleTable(text="{word} {word}", means="alive"), ["text"]),
    (RuleTable(text="  ", means="alive"), ["text"]),
    (RuleTable(text="*", means="alive", scope="anywhere"), ["text"]),
    (RuleTable(text="*", means="input"), ["input", "state"]),
    (RuleTable(text="{state}", means="input", input=1), ["active"]),
    (RuleTable(text="{input} {state}", means="input", input=1, active=("a",)), ["input"]),
    (RuleTable(text="a", means="alive", active=(" ",)), ["active"]),
    (RuleTable(regex="(", means="alive"), ["regex"]),
    (RuleTable(regex="", means="alive"), ["regex"]),
    (RuleTable(regex="a$ b", means="alive"), ["regex"]),
    (RuleTable(regex="(?P<tank>a)(?P<word>a)(?P<word>a)", means="alive"), ["regex", "regex"]),
    (LINE, []),
    (FIXED, []),
    (REGEX, []),
    (VOLTS, []),
    (RuleTable(text="BOX {state}", means="input", input=1, state="active"), []),
]


@pytest.mark.parametrize(("rule", "keys"), PROBLEMS)
def test_mistakes_in_a_rule_are_named_by_key(rule: RuleTable, keys: list[str]) -> None:
    """Each with what is wrong and what would be right."""
    problems = find_rule_problems(rule)
    assert [problem.key for problem in problems] == keys
    assert all(problem.wrong and problem.right for problem in problems)


def test_a_word_that_is_both_fits_nothing_and_is_warned_of() -> None:
    """It cannot be known what it means, so the text stays unread."""
    rule = RuleTable(text="Z {input} {state}", means="input", active=("ON", "UP"), idle=("on",))
    assert [problem.key for problem in find_rule_oddities(rule)] == ["active"]
    assert compile_rulebook([rule]).read("Z 1 ON").rule is None
    assert compile_rulebook([rule]).read("Z 1 UP").rule == 1


HIDING = [
    (LINE, LINE_2, True),
    (LINE_2, LINE, False),
    (RuleTable(text="*", means="ignore"), LINE, True),
    (RuleTable(text="*", means="ignore", scope="anywhere"), LINE, False),
    (LINE, RuleTable(text="LINE {input} {state}", means="input", active=("MADE", "HALF")), False),
    (LINE, RuleTable(text="LINE {input} {state} {volts}V * {percent}% *", means="alive", active=("MADE",)), True),
    (REGEX, REGEX, True),
    (LINE, REGEX, False),
]


@pytest.mark.parametrize(("earlier", "later", "hidden"), HIDING)
def test_a_rule_hides_another_only_where_that_is_sure(earlier: RuleTable, later: RuleTable, hidden: bool) -> None:
    """Every text made from the later one is read by the earlier one."""
    assert hides_rule(earlier, later) is hidden


@pytest.mark.parametrize("many", [5, 50, 500])
def test_only_rules_that_can_fit_are_tried(many: int) -> None:
    """However many rules there are, a text meets the few that share its rarest word (counted, not timed)."""
    rules = [RuleTable(text=f"BOX SITE{n}X {{input}} {{state}} *", means="input", active=("HI",)) for n in range(many)]
    book = compile_rulebook(rules)
    assert len(book.whole.candidates(FoldedText.of("BOX SITE3X up HI"))) == 1
    assert book.read("BOX SITE3X up HI").rule == 4


SURE_WORDS = [
    (r"LINE (?P<input>\d) (?P<state>MADE|BROKE)", True, ["line"]),
    (r"^LINE\s+(?P<input>\d)$", True, ["line"]),
    (r"^LINE\s*(?P<input>\d)$", True, []),
    (r"LINES? 7x B", True, ["7", "x", "b"]),
    (r"LINE|PUMP", True, []),
    (r"(?i)LINE", True, []),
    (r"LINE{e<=1}", True, []),
    (r"LINE+ A", True, ["a"]),
    (r"[A-Z]ONE .* LOW\.", True, ["low"]),
    (r"LOW", False, []),
    (r" LOW ", False, ["low"]),
    (r"(a(b|c)\)) X", True, ["x"]),
]


@pytest.mark.parametrize(("pattern", "whole", "words"), SURE_WORDS)
def test_a_regex_is_filed_under_words_that_are_sure(pattern: str, whole: bool, words: list[str]) -> None:
    """Nothing that may be missing, or go on, in a text it fits."""
    assert certain_words(pattern, whole=whole) == words


REGEX_PIECES = st.sampled_from(
    [
        "LINE",
        "A",
        "7",
        " ",
        r"\s+",
        r"\s*",
        r"\d",
        r"\w*",
        ".",
        "?",
        "+",
        "*",
        "(LOW|OK)",
        "(?:A b)",
        "[Z7]",
        "|",
        "^",
        "$",
        r"\.",
    ]
)
TEXT_PIECES = st.lists(st.sampled_from(["line", "A", "7", " ", "low", "ok", "b", ".", "Z", "x"]), max_size=7).map(
    "".join
)


@given(st.lists(REGEX_PIECES, max_size=7).map("".join), TEXT_PIECES, st.sampled_from(["whole", "anywhere"]))
@settings(max_examples=300, deadline=None)
def test_the_index_hides_no_regex_that_fits(pattern: str, text: str, scope: str) -> None:
    """Reading through the index and trying the rule by itself are of one opinion."""
    book = compile_rulebook([RuleTable.model_validate({"regex": pattern, "means": "alive", "scope": scope})])
    assert (book.read(text).rule == 1) == book.trace(text)[0].fitted


@pytest.mark.parametrize(
    ("text", "rule", "volts"),
    [
        ("LINE 9 MADE SUPPLY 12.6 V", 1, 12.6),
        ("LINE 9 EXPLODED SUPPLY 12.6 V", None, 12.6),
        ("LINE 9 EXPLODED", None, None),
        ("STATION WELL SUPPLY 12.6 V", 2, 12.6),
        ("SUPPLY 12.6 V", 2, 12.6),
    ],
)
def test_a_state_nobody_listed_is_not_hidden_by_a_number(text: str, rule: int | None, volts: float | None) -> None:
    """The text is passed on as unread, and its number is kept."""
    book = compile_rulebook(
        [
            RuleTable(text="LINE {input} {state} *", means="input", active=("MADE",), idle=("BROKE",)),
            RuleTable(text="SUPPLY {volts} V", means="reading", scope="anywhere"),
        ]
    )
    read = book.read(text)
    assert read.rule == rule
    assert next((reading.numbers["volts"] for reading in read.readings if reading.numbers), None) == volts


@pytest.mark.parametrize(("enough", "rule"), [(True, 1), (False, None)])
def test_a_number_alone_may_be_declared_not_enough(enough: bool, rule: int | None) -> None:
    """Then its text counts as unread, and the number is kept; a whole-text rule that fits is enough."""
    number = RuleTable(text="SUPPLY {volts} V", means="reading", scope="anywhere", enough=enough)
    whole = RuleTable(text="STATION WELL *", means="alive")
    read = compile_rulebook([number, whole]).read("LID OPEN SUPPLY 12.6 V")
    assert (read.rule, read.readings[0].numbers["volts"]) == (rule, 12.6)
    assert compile_rulebook([number, whole]).read("STATION WELL SUPPLY 12.6 V").rule == 2
    assert [problem.key for problem in find_rule_oddities(number)] == []
    assert [problem.key for problem in find_rule_oddities(whole.model_copy(update={"enough": False}))] == ["enough"]


FLOAT = RuleTable(text="FLOAT {input} {state} *", means="input", active=("DRY",), idle=("WET",))
BOOK = (
    LINE,
    FLOAT,
    FIXED,
    IGNORE,
    RuleTable(text="MAINS GONE", means="power-lost"),
    RuleTable(text="STATION *", means="alive"),
)
SWALLOWED = [
    ("LINE 1 MADE now, FLOAT 2 DRY", 1, {"1": "active", "2": "active"}),
    ("FLOAT 2 WET 0717 LINE 1 MADE 0718 FLOAT 3 DRY", 2, {"2": "idle", "1": "active", "3": "active"}),
    ("LINE 1 MADE spring dry now", 1, {"1": "active", "2": "active"}),
    ("LINE 1 MADE MAINS GONE", 1, {"1": "active", "power-lost": None}),
    ("STATION WELL, LINE 1 MADE", 6, {"alive": None, "1": "active"}),
    ("LINE 1 MADE LINE 1 BROKE", 1, {"1": "active"}),  # the same input twice: what stands first
    ("LINE 1 MADE FLOAT 2 JAMMED", None, {"1": "active"}),  # nobody listed that state: passed on
    ("LINE 1 MADE on the line that", 1, {"1": "active"}),  # words of every day
    ("LINE 1 MADE UNFLOAT 2 DRY", 1, {"1": "active"}),
    ("AD LINE 1 MADE", 4, {"ignore": None}),
]


@pytest.mark.parametrize(("text", "rule", "told"), SWALLOWED)
def test_row_73_what_a_star_took_is_read_by_the_other_rules(
    text: str, rule: int | None, told: dict[str, str | None]
) -> None:
    """Each reading in the order of the text, once for each input, with the number of the rule it is of."""
    read = compile_rulebook(BOOK).read(text)
    assert read.rule == rule
    assert {reading.input or reading.means: reading.state for reading in read.readings} == told
    assert [reading.input or reading.means for reading in read.readings] == list(told)


def test_row_73_one_word_alone_is_no_reading_among_others() -> None:
    """A rule of one word may be said of anything."""
    high = RuleTable(text="HIGH", means="input", input=3, state="active")
    assert len(compile_rulebook([LINE, high]).read("LINE 1 MADE at high noon").readings) == 1
    assert compile_rulebook([LINE, high]).read("HIGH").rule == 2


def test_row_73_what_a_quiet_rule_took_is_read_without_any_rule_of_states() -> None:
    """A sign of life that goes on to tell of the mains."""
    quiet, mains = RuleTable(text="STATION *", means="alive"), RuleTable(text="MAINS GONE", means="power-lost")
    read = compile_rulebook([quiet, mains]).read("STATION WELL MAINS GONE")
    assert [reading.means for reading in read.readings] == ["alive", "power-lost"]
