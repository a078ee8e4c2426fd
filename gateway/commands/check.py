"""`check`: reads the configuration and reports every problem, each with its line; warnings apart."""

import argparse
import sys
from collections.abc import Sequence

from gateway.commands.record_notes import record_notes
from gateway.commands.terminal_output import print_json, print_text
from gateway.commands.trap_checks import CHECKS
from gateway.errors import ConfigurationWrong, Problem
from gateway.settings.durations import format_duration
from gateway.settings.load import load, mode_problem
from gateway.settings.problem_locator import problem_json, problem_line
from gateway.settings.who_would_notice import Notices, who_would_notice


def run(arguments: argparse.Namespace) -> int:
    """0: it holds (warnings do not count); 1: it has mistakes."""
    problems, warnings, notices = _checked(arguments.config)
    if arguments.json:
        print_json(
            {
                "problems": [problem_json(problem) for problem in problems],
                "warnings": [problem_json(warning) for warning in warnings],
                "would_notice": [
                    {"who": notice.who, "what": notice.what, "within_s": notice.within.total_seconds()}
                    for notice in notices
                ],
            }
        )
    for problem in (*problems, *(() if arguments.json else warnings)):
        print(problem_line(problem), file=sys.stderr)
    if not problems and not arguments.json:
        many = len(warnings)
        notes = f" {many} {'note' if many == 1 else 'notes'} above." if many else ""
        print(f"{arguments.config} holds.{notes}")
        print_text(_if_it_died(notices))
    return 1 if problems else 0


def _if_it_died(notices: Sequence[Notices]) -> str:
    if not notices:
        return "If this board died nobody would notice: no message comes by itself."
    said = (f"{notice.who} ({notice.what}), {format_duration(notice.within)} late at most" for notice in notices)
    return f"If this board died, this is who would notice: {'; '.join(said)}."


def _checked(file: str) -> tuple[tuple[Problem, ...], tuple[Problem, ...], tuple[Notices, ...]]:
    """Its mistakes and its warnings, and who would notice its board's death; that anybody may read it is told only where it holds otherwise."""
    try:
        loaded = load(file, CHECKS)
        warnings = (*loaded.warnings, *record_notes(loaded.settings, file))
    except ConfigurationWrong as mistakes:
        return mistakes.problems, mistakes.warnings, ()
    notices = who_would_notice(loaded.settings)
    readable_by_all = mode_problem(file)
    if readable_by_all is None:
        return (), warnings, notices
    return (
        ((), (readable_by_all, *warnings), notices)
        if readable_by_all.warning
        else ((readable_by_all,), warnings, notices)
    )
