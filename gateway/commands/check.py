"""`check`: reads the configuration and reports every problem, each with its line; warnings apart."""

import argparse
import sys
from collections.abc import Iterator

from gateway.commands.showing import print_json
from gateway.errors import ConfigurationWrong, Problem
from gateway.settings.load import ExtraCheck, load, mode_problem
from gateway.settings.models import Settings
from gateway.settings.problems import Locate, problem_json, problem_line


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
        problems = wrong.problems
    if arguments.json:
        print_json(
            {"problems": [problem_json(one) for one in problems], "warnings": [problem_json(one) for one in warnings]}
        )
    for one in (*problems, *(() if arguments.json else warnings)):
        print(problem_line(one), file=sys.stderr)
    if not problems and not arguments.json:
        print(f"{arguments.config} holds." + (f" {len(warnings)} notes above." if warnings else ""))
    return 1 if problems else 0


def rule_checks(settings: Settings, locate: Locate) -> Iterator[Problem]:
    """Rules that cannot work, and rules that an earlier one always hides."""
    from gateway.rules.hiding import hides
    from gateway.rules.problems import rule_problems, rule_warnings

    for index, controller in enumerate(settings.controllers):
        for number, rule in enumerate(controller.rules):
            path = ("controllers", index, "rules", number)
            found = rule_problems(rule)
            for key, wrong, right in found:
                yield locate.problem(
                    (*path, key) if key else path, found=rule.text or rule.regex or "", wrong=wrong, right=right
                )
            for key, wrong, right in rule_warnings(rule):
                yield locate.problem(
                    (*path, key) if key else path,
                    found=rule.text or rule.regex or "",
                    wrong=wrong,
                    right=right,
                    warning=True,
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


EXTRA_CHECKS: tuple[ExtraCheck, ...] = (rule_checks,)
