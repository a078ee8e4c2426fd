"""A PIN that was tried → the mark that it is known by: one try per PIN, and nothing in the store or a backup that tells the PIN.

A mark is made with a random key, which lies beside the store and in no backup. Without the key the mark tells nothing, since for every PIN
there is a key that makes it. A bare hash told the PIN to whoever had the store, for there are only ten thousand.
"""

import hashlib
import hmac
import os
import secrets
from pathlib import Path

from gateway.settings.models import Settings
from gateway.settings.pin_file import pin
from gateway.settings.sharing import gateway_file_name
from gateway.storage import sqlite_file

KEY_OCTETS = 32


def pin_mark(settings: Settings) -> str:
    """The mark of the PIN in the file. A new PIN has another, and may be tried once. Raises OSError where the key cannot be kept."""
    return hmac.new(_key(settings), f"tank-gateway:{pin(settings)}".encode(), hashlib.sha256).hexdigest()


def key_file(settings: Settings) -> Path:
    """Beside the store's file; for a server's store in the folder that systemd gives for what is kept, or the user's own."""
    beside = sqlite_file(settings.store.url)
    if beside is not None:
        return beside.with_name(f"{beside.name}.pin-key")
    given = os.environ.get("STATE_DIRECTORY", "").split(":")[0]
    folder = Path(given) if given else Path.home() / ".local/state/tank-gateway"
    return folder / f"{gateway_file_name(settings.store.url, settings.site.name)}.pin-key"


def _key(settings: Settings) -> bytes:
    """The random key; made at the first try, and on the disk before anything is marked with it."""
    file = key_file(settings)
    try:
        kept = file.read_bytes()
    except FileNotFoundError:
        kept = b""
    if len(kept) == KEY_OCTETS:
        return kept
    key = secrets.token_bytes(KEY_OCTETS)
    file.parent.mkdir(parents=True, exist_ok=True)
    making = file.with_name(f"{file.name}.making")
    making.unlink(missing_ok=True)
    descriptor = os.open(making, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    try:
        os.write(descriptor, key)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    making.replace(file)
    _sync(file.parent)
    return key


def _sync(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
