"""`house-book FILE`: all that somebody who takes over must know, as one page to print."""

import argparse

from gateway.commands.page import write_html
from gateway.page import make_house_book

CAUTION = ". It holds names and phone numbers: print it, and keep the file to yourself."


def run(arguments: argparse.Namespace) -> int:
    """Writes it."""
    write_html(arguments, make_house_book, CAUTION)
    return 0
