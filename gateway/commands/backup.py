"""`backup FILE`: a consistent copy of the store, while the daemon runs."""

import argparse

from gateway.commands.opening import settings_of, store_of
from gateway.commands.showing import print_json


def run(arguments: argparse.Namespace) -> int:
    """Writes and verifies the copy."""
    settings = settings_of(arguments)
    store = store_of(settings, create=False)
    try:
        store.backup(arguments.file)
    finally:
        store.close()
    if arguments.json:
        print_json({"file": arguments.file})
    else:
        print(f"Backed up and verified: {arguments.file}")
    return 0
