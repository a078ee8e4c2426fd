"""`page FILE`: one self-contained HTML page of it all."""

import argparse
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.errors import GatewayError
from gateway.page import make_page, write_page
from gateway.storage.files import is_sqlite, no_file


def run(arguments: argparse.Namespace) -> int:
    """Writes the page."""
    _may_become_a_page(Path(arguments.file), Path(arguments.config))
    site = house_of(arguments)
    with store_of(site.settings, check=False).read() as reader:
        html = make_page(reader, site, SystemClock().now())
    try:
        write_page(arguments.file, html)
    except OSError as wrong:
        raise GatewayError(f"{arguments.file} cannot be written: {wrong.strerror}") from None
    if arguments.json:
        print_json({"file": arguments.file, "bytes": len(html.encode())})
    else:
        print(f"Written: {arguments.file}")
    return 0


def _may_become_a_page(file: Path, config: Path) -> None:
    """Whatever there is may be replaced, but not what the gateway lives on. Raises GatewayError."""
    wrong = no_file(file, "page.html")
    if wrong is not None:
        raise GatewayError(wrong)
    if not file.exists():
        return
    if config.exists() and file.samefile(config):
        raise GatewayError(f"{file} is the configuration; it is left as it is: give another name")
    if is_sqlite(file):
        raise GatewayError(f"{file} is a store or a backup; it is left as it is: give another name")
