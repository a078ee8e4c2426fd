"""`schema`: a JSON Schema of the configuration, so that editors complete and check the TOML."""

import argparse

from gateway.commands.terminal_output import print_json
from gateway.settings.json_schema import settings_schema


def run(arguments: argparse.Namespace) -> int:
    """Prints the schema."""
    print_json(settings_schema())
    return 0
