"""`house-book FILE`: all that somebody who takes over must know, as one page to print."""

import argparse

from gateway.commands.page import write_html
from gateway.page import is_house_book, make_house_book

CAUTION = ". It holds names and phone numbers: print it, and keep the file to yourself."


def run(arguments: argparse.Namespace) -> int:
    """Writes it."""
    write_html(arguments, make_house_book, is_ours=is_house_book, what="house book", caution=CAUTION)
    return 0
