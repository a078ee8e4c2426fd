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
from gateway.settings.problems import Locate, near, problem_json, problem_line


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


def rule_checks(settings: Settings, locate: Locate) -> Iterator[Problem]:
    """Rules that cannot work, and rules that an earlier one always hides."""
    from gateway.rules.hiding import hides
    from gateway.rules.problems import rule_problems, rule_warnings

    for index, controller in enumerate(settings.controllers):
        for number, rule in enumerate(controller.rules):
            path = ("controllers", index, "rules", number)
            found, odd = rule_problems(rule), rule_warnings(rule)
            for one in (*found, *odd):
                yield locate.problem(
                    (*path, one.key),
                    found=rule.text or rule.regex or "",
                    wrong=one.wrong,
                    right=one.right,
                    suggestion=_field_meant(one.unknown, in_text=one.key == "text"),
                    warning=one in odd,
                )
            earlier = [one for one in controller.rules[:number] if not rule_problems(one)]
            if not found and any(hides(one, rule) for one in earlier):
                yield locate.problem(
                    path,
                    found=rule.text or rule.regex or "",
                    wrong="an earlier rule takes every text that this one would read",
                    right="put the narrower rule first",
                    warning=True,
                )


def _field_meant(unknown: str | None, *, in_text: bool) -> str | None:
    """The field that was meant where one was misspelt, as it is written in a text or in a regex."""
    from gateway.rules.template import FIELDS

    guess = near(unknown, FIELDS) if unknown else None
    return f"{{{guess}}}" if guess and in_text else guess


def reach_checks(settings: Settings, locate: Locate) -> Iterator[Problem]:
    """Floats and tanks that no text can reach, since no rule of their controller tells of the input."""
    from gateway.rules.reach import tells_of

    rules = {one.id: one.rules for one in settings.controllers if one.rules}
    for index, tank in enumerate(settings.tanks):
        lost = [
            place
            for place, one in enumerate(tank.floats)
            if one.controller in rules and not tells_of(rules[one.controller], one.input)
        ]
        for place in lost:
            one = tank.floats[place]
            alone = len(lost) == len(tank.floats)
            yield locate.problem(
                ("tanks", index, "floats", place, "input"),
                found=str(one.input),
                wrong=f"no rule of {one.controller!r} tells of input {one.input}"
                + (f": no text can reach {tank.name!r}" if alone else ""),
                right='a rule with {input} in its text, or with input = … and state = "…"',
                warning=True,
            )


EXTRA_CHECKS: tuple[ExtraCheck, ...] = (rule_checks, reach_checks, name_checks, phrase_checks, balance_checks)
