"""`restore FILE`: a backup back into place; the old store is set aside, never overwritten."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_settings
from gateway.commands.terminal_output import print_json
from gateway.storage.backup import restore


def run(arguments: argparse.Namespace) -> int:
    """Verifies the backup, sets the old store aside, puts the backup in its place."""
    settings = load_settings(arguments)
    stamp = f"{SystemClock().now():%Y%m%dT%H%M%SZ}"
    aside = restore(arguments.file, settings.store.url, stamp)
    if arguments.json:
        print_json({"file": arguments.file, "set_aside": str(aside) if aside else None})
    else:
        print(f"Restored from {arguments.file}." + (f" The old store is kept as {aside}." if aside else ""))
    return 0
