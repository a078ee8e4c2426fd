"""`house-book FILE`: all that somebody who takes over must know, as one page to print."""

import argparse
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.page import refuse_what_is_no_page
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError
from gateway.page import make_house_book, write_page


def run(arguments: argparse.Namespace) -> int:
    """Writes it."""
    refuse_what_is_no_page(Path(arguments.file), Path(arguments.config), force=arguments.force)
    site = load_site(arguments)
    with open_site_store(site.settings, check=False).read() as reader:
        html = make_house_book(reader, site, SystemClock().now())
    try:
        write_page(arguments.file, html)
    except OSError as error:
        raise GatewayError(f"{arguments.file} cannot be written: {error.strerror}") from None
    if arguments.json:
        print_json({"file": arguments.file, "bytes": len(html.encode())})
    else:
        print(f"Written: {arguments.file}. It holds names and phone numbers: print it, and keep the file to yourself.")
    return 0
