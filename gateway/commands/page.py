"""`page FILE`: one self-contained HTML page of it all."""

import argparse
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.own_files import refuse_what_is_not_ours
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError
from gateway.page import is_page, make_page, write_page
from gateway.ports import Reader
from gateway.site import Site


def run(arguments: argparse.Namespace) -> int:
    """Writes the page."""
    write_html(arguments, partial(make_page, full=arguments.full), is_ours=is_page)
    return 0


def write_html(
    arguments: argparse.Namespace,
    make: Callable[[Reader, Site, datetime], str],
    *,
    is_ours: Callable[[Path], bool],
    what: str = "page",
    caution: str = "",
) -> None:
    """Makes a page of the record as it stands, writes it to the FILE of the command line and says so. Raises GatewayError."""
    refuse_what_is_not_ours(
        Path(arguments.file),
        Path(arguments.config),
        is_ours=is_ours,
        what=what,
        example=f"{what.replace(' ', '-')}.html",
        force=arguments.force,
    )
    site = load_site(arguments)
    with open_site_store(site.settings, check=False).read() as reader:
        html = make(reader, site, SystemClock().now())
    try:
        write_page(arguments.file, html)
    except OSError as error:
        raise GatewayError(f"{arguments.file} cannot be written: {error.strerror}") from None
    if arguments.json:
        print_json({"file": arguments.file, "bytes": len(html.encode())})
    else:
        print(f"Written: {arguments.file}{caution}")
