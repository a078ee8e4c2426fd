"""`backup FILE`: a consistent copy of the store, while the daemon runs; and on which device it lies."""

import argparse
import sys
from pathlib import Path

from gateway.commands.site_and_store import load_settings, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.service.calendar_jobs import store_folder

MOUNTS = Path("/proc/self/mounts")


def run(arguments: argparse.Namespace) -> int:
    """Writes and verifies the copy."""
    settings = load_settings(arguments)
    store = open_site_store(settings)
    try:
        store.backup(arguments.file)
    finally:
        store.close()
    folder, beside = Path(arguments.file).resolve().parent, store_folder(settings)
    alone = beside is None or beside.stat().st_dev != folder.stat().st_dev
    device = _device_under(folder)
    if arguments.json:
        print_json({"file": arguments.file, "device": device, "own_device": alone})
    else:
        print(f"Backed up and verified: {arguments.file}" + (f" (on {device})" if device else ""))
    if not alone:
        print("note: it lies on the store's own device; if that fails, both are lost", file=sys.stderr)
    return 0


def _device_under(folder: Path) -> str | None:
    """`/dev/sda1 at /media/stick`; None where the system does not tell."""
    point = next(above for above in (folder, *folder.parents) if above.is_mount())
    device = None
    try:
        # The last of several at one place is what is seen there; a space in a name stands as \040 (proc(5), fstab(5)).
        for line in MOUNTS.read_text("utf-8", "replace").splitlines():
            source, where, *_ = line.split(" ")
            device = source if where.replace("\\040", " ") == str(point) else device
    except OSError:
        return None
    return device and f"{device} at {point}"
