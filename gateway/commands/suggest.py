"""`suggest FILE`: sample texts → rules to paste into the configuration."""

import argparse
import sys

from gateway.commands.standard_streams import text_of_file
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError
from gateway.facts.harmless import harmless
from gateway.suggest.suggest_rules import suggest_rules

LONGEST_CHARS = 2000
"""More than thirteen messages joined: no box sends that, and to look for what such lines have in common would take for ever."""


def run(arguments: argparse.Namespace) -> int:
    """Proposes rules; exit code 1 where some sample is read by none of them."""
    suggestion = suggest_rules(_sample_lines(arguments.file))
    if arguments.json:
        print_json(suggestion.as_json())
    else:
        print(suggestion.toml)
    for text in suggestion.unread:
        print(f"no rule reads: {harmless(text)}", file=sys.stderr)
    return 1 if suggestion.unread else 0


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
