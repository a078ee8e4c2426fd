"""`help [COMMAND]`: what the commands do; of one also an example, what it reads and what it writes."""

import argparse

from gateway.commands.argument_parser import command_line, parse


def run(arguments: argparse.Namespace) -> int:
    """Prints it."""
    if arguments.of is not None:
        parse([arguments.of, "--help"])  # ends here, as every `--help` does
    command_line()[0].print_help()
    return 0
