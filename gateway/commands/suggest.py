"""`suggest FILE`: sample texts → rules to paste into the configuration."""

import argparse
import sys
from pathlib import Path

from gateway.commands.showing import print_json
from gateway.errors import GatewayError
from gateway.rules.suggest import suggest


def run(arguments: argparse.Namespace) -> int:
    """Proposes rules; exit code 1 where some sample is read by none of them."""
    suggestion = suggest(_lines(arguments.file))
    if arguments.json:
        print_json(suggestion.as_json())
    else:
        print(suggestion.toml)
    for text in suggestion.unread:
        print(f"no rule reads: {text}", file=sys.stderr)
    return 1 if suggestion.unread else 0


def _lines(file: str) -> list[str]:
    if file == "-":
        return sys.stdin.read().splitlines()
    try:
        return Path(file).read_text("utf-8-sig", errors="replace").splitlines()
    except OSError as wrong:
        raise GatewayError(f"{file} cannot be read: {wrong.strerror}") from None
