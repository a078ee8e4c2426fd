"""`backup FILE`: a consistent copy of the store, while the daemon runs; and on which device it lies."""

import argparse
import sys
from contextlib import closing, suppress
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.archive import write_archive
from gateway.commands.site_and_store import load_settings, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import StoreTrouble, UsageWrong
from gateway.handlers.gateway_life import keep_configuration
from gateway.handlers.unit_of_work import unit_of_work
from gateway.ports import Store
from gateway.service.calendar_jobs import store_folder
from gateway.settings import credentials
from gateway.settings.models import Settings
from gateway.site import compile_site

MOUNTS = Path("/proc/self/mounts")


def run(arguments: argparse.Namespace) -> int:
    """Writes and verifies the copy."""
    if arguments.with_credentials and not arguments.all:
        raise UsageWrong("--with-credentials goes with --all; a backup of the record alone never holds them")
    settings = load_settings(arguments)
    left_out: tuple[str, ...] = ()
    with closing(open_site_store(settings)) as store:
        _keep_configuration(store, settings)
        if arguments.all:
            left_out = write_archive(store, settings, arguments.file, with_credentials=arguments.with_credentials)
        else:
            store.backup(arguments.file)
    folder, beside = Path(arguments.file).resolve().parent, store_folder(settings)
    alone = beside is None or beside.stat().st_dev != folder.stat().st_dev
    device = _device_under(folder)
    if arguments.json:
        print_json({"file": arguments.file, "device": device, "own_device": alone, "left_out": left_out})
    else:
        print(f"Backed up and verified: {arguments.file}" + (f" (on {device})" if device else ""))
        if arguments.all:
            print("It holds your configuration whole, with phone numbers and a box's commands: keep it to yourself.")
        for name in left_out:
            by_option = Path(name).parent == credentials.FOLDER
            print(
                f"Left out: {name} ({'--with-credentials takes it along' if by_option else 'take it along yourself'})."
            )
    if not alone:
        print("note: it lies on the store's own device; if that fails, both are lost", file=sys.stderr)
    return 0


def _keep_configuration(store: Store, settings: Settings) -> None:
    """The record holds the file as it is now, without its secrets, and so does the backup. One that takes no more is backed up as it is."""
    with suppress(StoreTrouble), store.write() as tx:
        unit = unit_of_work(tx, compile_site(settings), SystemClock().now())
        keep_configuration(unit)


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
