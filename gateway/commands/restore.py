"""`restore FILE`: a backup back into place, or an archive of `backup --all`; what was there is set aside, never overwritten.

The configuration that the backup holds is put where there is none; in place of another one only with `--configuration`, else beside it.
"""

import argparse
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from gateway.clock import SystemClock
from gateway.commands.archive import CONFIGURATION, RECORD, is_archive, read_archive
from gateway.commands.site_and_store import load_settings
from gateway.commands.terminal_output import announce, print_json
from gateway.errors import GatewayError
from gateway.settings import credentials
from gateway.settings.load import load_text
from gateway.settings.models import Settings
from gateway.settings.settings_changes import MASK
from gateway.storage.backup import configuration_in, restore

OURS_ALONE, WITH_GROUP = 0o600, 0o640
MANY_OCTETS = 10_000_000
GAP = "secret"
"""Stands in for what a backup left out, while the record is put back and nothing else is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """The configuration of a backup, and the keys whose values it leaves out."""

    text: bytes
    secrets: tuple[str, ...]


def run(arguments: argparse.Namespace) -> int:
    """Verifies the backup, sets the old store aside, puts the backup in its place."""
    stamp = f"{SystemClock().now():%Y%m%dT%H%M%SZ}"
    told: list[str] = []
    file = Path(arguments.file)
    if file.is_file() and file.stat().st_size > MANY_OCTETS:
        announce(
            f"{file.stat().st_size / 1e6:,.0f} MB are read through and put in place: that may take a minute on a small board"
        )
    with TemporaryDirectory(prefix="tank-gateway-") as folder:
        record = arguments.file
        if is_archive(arguments.file):
            archive = read_archive(arguments.file)
            record = str(Path(folder) / RECORD)
            Path(record).write_bytes(archive.record)
            held: _Held | None = _Held(text=archive.configuration, secrets=())
            told += _put_credentials(archive.credentials)
            told += [f"write {name} again: the archive does not hold it" for name in archive.left_out]
        else:
            kept = configuration_in(record)
            held = _Held(text=kept[0].encode(), secrets=kept[1]) if kept is not None else None
        settings = _settle_configuration(arguments, held, stamp, told)
        aside = restore(record, settings.store.url, stamp)
    if arguments.json:
        print_json({"file": arguments.file, "set_aside": str(aside) if aside else None, "notes": told})
    else:
        print(f"Restored from {arguments.file}." + (f" The old store is kept as {aside}." if aside else ""))
        for line in told:
            print(line)
    return 0


def _settle_configuration(arguments: argparse.Namespace, held: _Held | None, stamp: str, told: list[str]) -> Settings:
    """The settings by which the record is put back: those that are there, or those of the backup. Raises GatewayError."""
    there = Path(arguments.config)
    if held is None or (there.exists() and there.read_bytes() == held.text):
        return load_settings(arguments)
    if there.exists() and not arguments.configuration:
        beside = there.with_name(f"{there.name}.from-backup")
        _write(beside, held.text, replace=True)
        told.append(
            f"The configuration of the backup is another one; it lies in {beside} (--configuration puts it in place)."
        )
        return load_settings(arguments)
    if there.exists():
        aside = there.with_name(f"{there.name}.aside-{stamp}")
        there.rename(aside)
        told.append(f"The old configuration is kept as {aside}.")
    _write(there, held.text)
    told.append(f"The configuration is now {there}.")
    told += [f"write {key} again in it: a backup leaves out what is secret" for key in held.secrets]
    # what is left out is refused by every other command until it is there; the record does not wait for that
    return load_settings(arguments) if not held.secrets else _settings_with_gaps(held)


def _settings_with_gaps(held: _Held) -> Settings:
    return load_text(held.text.decode().replace(MASK, GAP), CONFIGURATION).settings


def _put_credentials(files: Mapping[str, bytes]) -> Iterator[str]:
    """Each into the folder of credentials, for root alone; one that is there is left."""
    for name, octets in files.items():
        target = credentials.FOLDER / name
        if target.exists():
            yield f"{target} was there already and is left as it is."
            continue
        _write(target, octets, mode=OURS_ALONE)
        yield f"{target} is put back."


def _write(target: Path, octets: bytes, *, mode: int = WITH_GROUP, replace: bool = False) -> None:
    """A new file, which belongs to the group of its folder. Raises GatewayError where its folder is not there."""
    if not target.parent.is_dir():
        raise GatewayError(f"there is no folder {target.parent}: install the program first (sudo deploy/install)")
    if replace:
        target.unlink(missing_ok=True)
    descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, OURS_ALONE)
    with os.fdopen(descriptor, "wb") as file:
        if os.geteuid() == 0:
            os.fchown(descriptor, -1, target.parent.stat().st_gid)
        os.fchmod(descriptor, mode)
        file.write(octets)
