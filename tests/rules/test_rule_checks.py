"""Each mistake in a rule by its key and in its words, and what of a rule's limits is one."""

import pytest

from gateway.rules.rule_checks import find_rule_oddities, find_rule_problems
from gateway.settings.controller_tables import RuleTable

INPUT = {"means": "input", "input": 1, "state": "active"}
READING = {"means": "reading", "text": "B {volts}"}


@pytest.mark.parametrize(
    ("rule", "mistakes"),
    [
        ({"means": "alive"}, [("text", "there is neither text nor regex")]),
        ({"means": "alive", "text": "a", "regex": "a"}, [("text", "there are both text and regex")]),
        ({"means": "alive", "text": "a"}, []),
        ({"means": "alive", "regex": "a"}, []),
        # inputs
        ({**INPUT, "text": "a"}, []),
        ({**INPUT, "text": "a", "input": " "}, [("input", "the input is empty")]),
        ({**INPUT, "text": "a", "input": "b"}, []),
        ({**INPUT, "text": "a {input}"}, [("input", "the rule both reads {input} and fixes it")]),
        ({**INPUT, "text": "a {input}", "input": None}, []),
        ({**INPUT, "text": "a", "input": None}, [("input", "nothing says which input it is")]),
        ({**INPUT, "text": "a", "state": None}, [("state", "nothing says whether it is active or idle")]),
        ({**INPUT, "text": "a {state}"}, []),
        ({**INPUT, "text": "a {state}", "active": ("x",)}, [("state", "the rule both reads {state} and fixes it")]),
        ({**INPUT, "text": "a {state}", "idle": ("x",)}, [("state", "the rule both reads {state} and fixes it")]),
        ({**INPUT, "text": "a {state}", "state": None, "idle": ("x",)}, []),
        ({**INPUT, "text": "a {state}", "state": None}, [("active", "no word is known for {state}")]),
        (
            {**INPUT, "text": "a {state}", "state": None, "active": ("ON",), "idle": ("on",)},
            [("active", "no word is known for {state}")],
        ),
        ({"means": "alive", "text": "a {input} {state}"}, []),
        ({"means": "alive", "text": "a", "active": ("",)}, [("active", "a state word is empty")]),
        ({"means": "alive", "text": "a", "idle": ("b", " ")}, [("idle", "a state word is empty")]),
        ({"means": "alive", "text": "{x", "idle": ("",)}, [("text", "a single {"), ("idle", "a state word is empty")]),
        # levels
        ({"means": "level", "text": "a {input} {level}"}, []),
        ({"means": "level", "text": "a {level}", "input": 1}, []),
        ({"means": "level", "text": "a {level}"}, [("input", "nothing says which input it is")]),
        ({"means": "level", "text": "a {input}"}, [("text", "nothing says the level")]),
        ({"means": "level", "regex": r"a (?P<input>\d)"}, [("regex", "nothing says the level")]),
        # regexes
        ({"means": "alive", "regex": " "}, [("regex", "the regex is empty")]),
        ({"means": "alive", "regex": "a$ b"}, [("regex", "something is expected after $, the end of the text")]),
        ({"means": "alive", "regex": r"a\$ b"}, []),
        ({"means": "alive", "regex": "a$"}, []),
        ({"means": "alive", "regex": "(?m)a$ b"}, []),
        ({"means": "alive", "regex": "(?P<tank>a)"}, [("regex", "the group 'tank' is no field")]),
        ({"means": "alive", "regex": "(?P<word>a)(?P<word>b)"}, [("regex", "the group 'word' stands twice")]),
        ({"means": "alive", "regex": "(?P<word>a)"}, []),
        # "anywhere"
        (
            {"means": "alive", "text": "* *", "scope": "anywhere"},
            [("text", "a rule of scope 'anywhere' that is only *")],
        ),
        ({"means": "alive", "text": "* *"}, []),
        ({"means": "alive", "text": "* a", "scope": "anywhere"}, []),
        # limits of its own
        ({**READING, "low": 11.0, "high": 15.0, "name": "box"}, []),
        ({**READING, "low": 11.0}, []),
        ({**READING, "high": 15.0}, []),
        ({**READING, "low": 11.0, "high": 11.0}, [("high", "is not above low = 11")]),
        ({**READING, "low": 12.0, "high": 11.0}, [("high", "is not above low = 12")]),
        ({**READING, "name": "box"}, [("name", "a name without low or high names no alarm")]),
        ({"means": "alive", "text": "a", "name": "box"}, []),
        ({**READING, "text": "B", "low": 11.0}, [("low", "there is no number to hold against it")]),
        ({**READING, "text": "B {volts} {celsius}", "high": 1.0}, [("high", "it may be of several numbers")]),
        ({**READING, "text": "B {level}", "low": 11.0}, [("low", "there is no number to hold against it")]),
        ({"means": "alive", "text": "a {volts}", "low": 11.0}, [("low", "only a reading has limits of its own")]),
        ({"means": "alive", "text": "a {volts}", "high": 11.0}, [("high", "only a reading has limits of its own")]),
    ],
)
def test_each_mistake_by_its_key_and_in_its_words(rule, mistakes):
    """In their order; none where there is none."""
    problems = find_rule_problems(RuleTable.model_validate(rule))
    assert [problem.key for problem in problems] == [key for key, _ in mistakes]
    assert all(problem.wrong.startswith(wrong) for problem, (_, wrong) in zip(problems, mistakes, strict=True))


@pytest.mark.parametrize(
    ("rule", "right"),
    [
        ({"means": "level", "text": "a {input} {level}", "low": 1.0}, "a gauge's limits are its low_m and high_m"),
        ({"means": "alive", "text": "a {volts}", "low": 1.0}, 'means = "reading"'),
    ],
)
def test_where_limits_belong_instead(rule, right):
    """A gauge has its own."""
    assert find_rule_problems(RuleTable.model_validate(rule))[0].right == right


@pytest.mark.parametrize(
    ("rule", "unknown"),
    [
        ({"text": "a { Foo }"}, "foo"),
        ({"regex": "(?P<tank>a)"}, "tank"),
        ({"regex": "(?P<word>a)(?P<word>b)"}, None),
        ({"text": "a }"}, None),
    ],
)
def test_a_field_that_is_none_is_named(rule, unknown):
    """So that what was nearly meant can be looked for."""
    assert find_rule_problems(RuleTable.model_validate({"means": "alive", **rule}))[0].unknown == unknown


@pytest.mark.parametrize(
    ("more", "odd"),
    [
        ({}, []),
        ({"enough": False}, ["enough"]),
        ({"enough": False, "scope": "anywhere"}, []),
        ({"active": ("ON", "UP"), "idle": ("on", "down")}, ["active"]),
        ({"active": ("ON",), "idle": ("on",), "enough": False}, ["active", "enough"]),
    ],
)
def test_what_is_odd_and_does_no_harm(more, odd):
    """Words that are both, and `enough` of a rule that reads the whole text."""
    rule = RuleTable.model_validate({"means": "alive", "text": "a {state}", **more})
    assert [problem.key for problem in find_rule_oddities(rule)] == odd
