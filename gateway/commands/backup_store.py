"""`backup FILE`: a consistent copy of the store, while the daemon runs."""

import argparse

from gateway.commands.site_and_store import load_settings, open_site_store
from gateway.commands.terminal_output import print_json


def run(arguments: argparse.Namespace) -> int:
    """Writes and verifies the copy."""
    settings = load_settings(arguments)
    store = open_site_store(settings, create=False)
    try:
        store.backup(arguments.file)
    finally:
        store.close()
    if arguments.json:
        print_json({"file": arguments.file})
    else:
        print(f"Backed up and verified: {arguments.file}")
    return 0
