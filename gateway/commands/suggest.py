"""`suggest FILE`: sample texts → rules to paste into the configuration; what has no label is asked about."""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace

from gateway.commands.ask_labels import ask_labels
from gateway.commands.standard_streams import text_of_file
from gateway.commands.terminal_output import announce, print_json
from gateway.errors import GatewayError
from gateway.facts.harmless import harmless
from gateway.suggest.bare_groups import Group
from gateway.suggest.samples import Sample, SampleFile, read_samples
from gateway.suggest.suggest_rules import suggest_from

MANY_LINES = 10_000
LONGEST_CHARS = 2000
"""More than thirteen messages joined: no box sends that, and to look for what such lines have in common would take for ever."""


def run(arguments: argparse.Namespace) -> int:
    """Proposes rules; at a terminal it asks what unlabelled texts mean, else it prints them to be labelled. Exit code 1 where a labelled
    sample is not read as it should be."""
    lines = _sample_lines(arguments.file)
    if len(lines) > MANY_LINES:
        announce(f"{len(lines):,} lines are compared with one another: that may take a minute on a small board")
    sample_file = read_samples(lines)
    suggestion = suggest_from(sample_file)
    if suggestion.groups and _somebody_is_there(arguments):
        answered = ask_labels(suggestion.groups)
        suggestion = suggest_from(_with_answers(sample_file, answered))
    if arguments.json:
        print_json(suggestion.as_json())
    elif suggestion.groups and not any(sample.label for sample in sample_file.samples):
        print(suggestion.form, end="")
        print(f"{_count(suggestion.groups)} to be labelled: fill the file in, then suggest FILE again", file=sys.stderr)
    else:
        print(suggestion.toml)
        if suggestion.groups:
            print(f"{_count(suggestion.groups)} without a label; see the end of the proposal", file=sys.stderr)
    for text in suggestion.misread:
        print(f"no rule reads as labelled: {harmless(text)}", file=sys.stderr)
    return 1 if suggestion.misread else 0


def _somebody_is_there(arguments: argparse.Namespace) -> bool:
    return arguments.file != "-" and not arguments.json and sys.stdin.isatty() and sys.stdout.isatty()


def _with_answers(sample_file: SampleFile, answered: Sequence[Sample]) -> SampleFile:
    labels = {sample.text: sample for sample in answered}
    return replace(sample_file, samples=tuple(labels.get(sample.text, sample) for sample in sample_file.samples))


def _count(groups: Sequence[Group]) -> str:
    return "1 shape of text is" if len(groups) == 1 else f"{len(groups)} shapes of text are"


def _sample_lines(file: str) -> list[str]:
    text = text_of_file(file)
    if "\0" in text:
        raise GatewayError(
            f"{file} is no text file; right would be one sample a line: label<TAB>text, or just the text"
        )
    lines = text.splitlines()
    for number, line in enumerate(lines, start=1):
        if len(line) > LONGEST_CHARS:
            raise GatewayError(
                f"{file}:{number}: {len(line)} characters are no text message; right would be one sample a line"
            )
    return lines
