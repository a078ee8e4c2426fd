"""`page FILE`: one self-contained HTML page of it all."""

import argparse
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError
from gateway.page import is_page, make_page, write_page
from gateway.ports import Reader
from gateway.site import Site
from gateway.storage.files import is_sqlite, no_file


def run(arguments: argparse.Namespace) -> int:
    """Writes the page."""
    write_html(arguments, make_page)
    return 0


def write_html(arguments: argparse.Namespace, make: Callable[[Reader, Site, datetime], str], caution: str = "") -> None:
    """Makes a page of the record as it stands, writes it to the FILE of the command line and says so. Raises GatewayError."""
    _refuse_what_is_no_page(Path(arguments.file), Path(arguments.config), force=arguments.force)
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


def _refuse_what_is_no_page(file: Path, config: Path, *, force: bool) -> None:
    """Only a page of ours is replaced; with `force` another file too, but never what the gateway lives on. Raises GatewayError."""
    refusal = no_file(file, "page.html")
    if refusal is not None:
        raise GatewayError(refusal)
    if not file.exists():
        return
    if config.exists() and file.samefile(config):
        raise GatewayError(f"{file} is the configuration; it is left as it is: give another name")
    if is_sqlite(file):
        raise GatewayError(f"{file} is a store or a backup; it is left as it is: give another name")
    if not force and not is_page(file):
        raise GatewayError(
            f"{file} is there already and is no page of ours; give another name, or --force to replace it"
        )
