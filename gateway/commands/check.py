"""`check`: reads the configuration and reports every problem, each with its line; warnings apart."""

import argparse
import sys
from collections.abc import Iterator

from gateway.commands.balancecheck import balance_checks
from gateway.commands.phrasecheck import name_checks, phrase_checks
from gateway.commands.showing import print_json
from gateway.errors import ConfigurationWrong, Problem
from gateway.settings.load import ExtraCheck, load, mode_problem
from gateway.settings.models import Settings
from gateway.settings.problems import ProblemLocator, nearest_word, problem_json, problem_line


def run(arguments: argparse.Namespace) -> int:
    """0: it holds (warnings do not count); 1: it has mistakes."""
    problems: tuple[Problem, ...] = ()
    warnings: tuple[Problem, ...] = ()
    try:
        warnings = load(arguments.config, EXTRA_CHECKS).warnings
        readable = mode_problem(arguments.config)
        if readable is not None:
            warnings = (readable, *warnings)
    except ConfigurationWrong as wrong:
        problems, warnings = wrong.problems, wrong.warnings
    if arguments.json:
        print_json(
            {"problems": [problem_json(one) for one in problems], "warnings": [problem_json(one) for one in warnings]}
        )
    for one in (*problems, *(() if arguments.json else warnings)):
        print(problem_line(one), file=sys.stderr)
    if not problems and not arguments.json:
        print(f"{arguments.config} holds." + _notes(len(warnings)))
    return 1 if problems else 0


def _notes(many: int) -> str:
    return f" {many} {'note' if many == 1 else 'notes'} above." if many else ""


def rule_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Rules that cannot work, and rules that an earlier one always hides."""
    from gateway.rules.rule_checks import find_rule_oddities, find_rule_problems
    from gateway.rules.unreachable import hides_rule

    for index, controller in enumerate(settings.controllers):
        for number, rule in enumerate(controller.rules):
            path = ("controllers", index, "rules", number)
            written = rule.text or rule.regex or ""
            problems = find_rule_problems(rule)
            for flaw in problems:
                meant = _field_meant(flaw.unknown, in_text=flaw.key == "text")
                here = (*path, flaw.key)
                yield locator.problem(here, found=written, wrong=flaw.wrong, right=flaw.right, suggestion=meant)
            for flaw in find_rule_oddities(rule):
                yield locator.note((*path, flaw.key), found=written, wrong=flaw.wrong, right=flaw.right)
            earlier = [one for one in controller.rules[:number] if not find_rule_problems(one)]
            if not problems and any(hides_rule(one, rule) for one in earlier):
                yield locator.note(
                    path,
                    found=written,
                    wrong="an earlier rule takes every text that this one would read",
                    right="put the narrower rule first",
                )


def _field_meant(unknown: str | None, *, in_text: bool) -> str | None:
    """The field that was meant where one was misspelt, as it is written in a text or in a regex."""
    from gateway.rules.template import FIELDS

    guess = nearest_word(unknown, FIELDS) if unknown else None
    return f"{{{guess}}}" if guess and in_text else guess


def reach_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Floats and tanks that no text can reach, since no rule of their controller tells of the input."""
    from gateway.rules.unreachable import can_tell_of_input

    rules = {one.id: one.rules for one in settings.controllers if one.rules}
    for index, tank in enumerate(settings.tanks):
        lost = [
            place
            for place, one in enumerate(tank.floats)
            if one.controller in rules and not can_tell_of_input(rules[one.controller], one.input)
        ]
        for place in lost:
            one = tank.floats[place]
            alone = len(lost) == len(tank.floats)
            yield locator.note(
                ("tanks", index, "floats", place, "input"),
                found=str(one.input),
                wrong=f"no rule of {one.controller!r} tells of input {one.input}"
                + (f": no text can reach {tank.name!r}" if alone else ""),
                right='a rule with {input} in its text, or with input = … and state = "…"',
            )


EXTRA_CHECKS: tuple[ExtraCheck, ...] = (rule_checks, reach_checks, name_checks, phrase_checks, balance_checks)
