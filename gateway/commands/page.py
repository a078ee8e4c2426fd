"""`page FILE`: one self-contained HTML page of it all."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.daemon.pages import page
from gateway.errors import GatewayError
from gateway.page import write


def run(arguments: argparse.Namespace) -> int:
    """Writes the page."""
    house = house_of(arguments)
    with store_of(house.settings, check=False).read() as reader:
        html = page(reader, house, SystemClock().now())
    try:
        write(arguments.file, html)
    except OSError as wrong:
        raise GatewayError(f"{arguments.file} cannot be written: {wrong.strerror}") from None
    if arguments.json:
        print_json({"file": arguments.file, "bytes": len(html.encode())})
    else:
        print(f"Written: {arguments.file}")
    return 0
