"""`check`: reads the configuration and reports every problem, each with its line; warnings apart."""

import argparse
import sys

from gateway.commands.adopted_notes import adopted_notes
from gateway.commands.terminal_output import print_json
from gateway.commands.trap_checks import CHECKS
from gateway.errors import ConfigurationWrong, Problem
from gateway.settings.load import load, mode_problem
from gateway.settings.problem_locator import problem_json, problem_line


def run(arguments: argparse.Namespace) -> int:
    """0: it holds (warnings do not count); 1: it has mistakes."""
    problems, warnings = _checked(arguments.config)
    if arguments.json:
        print_json(
            {
                "problems": [problem_json(problem) for problem in problems],
                "warnings": [problem_json(warning) for warning in warnings],
            }
        )
    for problem in (*problems, *(() if arguments.json else warnings)):
        print(problem_line(problem), file=sys.stderr)
    if not problems and not arguments.json:
        many = len(warnings)
        notes = f" {many} {'note' if many == 1 else 'notes'} above." if many else ""
        print(f"{arguments.config} holds.{notes}")
    return 1 if problems else 0


def _checked(file: str) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """Its mistakes and its warnings; that anybody may read it is told only where it holds otherwise."""
    try:
        loaded = load(file, CHECKS)
        warnings = (*loaded.warnings, *adopted_notes(loaded.settings, file))
    except ConfigurationWrong as mistakes:
        return mistakes.problems, mistakes.warnings
    readable_by_all = mode_problem(file)
    if readable_by_all is None:
        return (), warnings
    return ((), (readable_by_all, *warnings)) if readable_by_all.warning else ((readable_by_all,), warnings)
