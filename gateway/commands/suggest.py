"""`suggest FILE`: sample texts → rules to paste into the configuration."""

import argparse
import sys

from gateway.commands.showing import print_json
from gateway.commands.streams import contents
from gateway.facts.harmless import harmless
from gateway.rules.suggest import suggest


def run(arguments: argparse.Namespace) -> int:
    """Proposes rules; exit code 1 where some sample is read by none of them."""
    suggestion = suggest(contents(arguments.file).splitlines())
    if arguments.json:
        print_json(suggestion.as_json())
    else:
        print(suggestion.toml)
    for text in suggestion.unread:
        print(f"no rule reads: {harmless(text)}", file=sys.stderr)
    return 1 if suggestion.unread else 0
