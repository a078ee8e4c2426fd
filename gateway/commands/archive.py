"""One file that a household moves house with: the record, the configuration whole, and, where that is asked for, the credentials.

A tar archive, compressed, readable by its owner alone: `gateway.db`, `gateway.toml`, `credentials/…`, and `contents.json`, which says what is
left out. Names that are not these are refused when it is read: nothing is ever written elsewhere.
"""

import io
import json
import tarfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from gateway import __version__
from gateway.errors import GatewayError
from gateway.ports import Store
from gateway.settings import credentials
from gateway.settings.models import Settings
from gateway.site import phrase_file
from gateway.storage.files import flush, make, no_file

RECORD, CONFIGURATION, CONTENTS, CREDENTIALS = "gateway.db", "gateway.toml", "contents.json", "credentials/"
BEGINS = b"\x1f\x8b"
OWNER_ONLY = 0o600


@dataclass(frozen=True, slots=True, kw_only=True)
class Archive:
    """What one holds; `credentials` by their files' names, `left_out`: those that it only names."""

    record: bytes
    configuration: bytes
    credentials: Mapping[str, bytes]
    left_out: tuple[str, ...]


def is_archive(file: str) -> bool:
    """Whether it is one rather than a backup of the record alone."""
    try:
        with Path(file).open("rb") as there:
            return there.read(len(BEGINS)) == BEGINS
    except OSError:
        return False


def write_archive(store: Store, settings: Settings, file: str, *, with_credentials: bool) -> tuple[str, ...]:
    """Made whole and renamed into its place. What it leaves out, by its files. Raises GatewayError, OSError."""
    not_a_place = no_file(Path(file), "house.tar.gz")
    if not_a_place is not None:
        raise GatewayError(not_a_place)
    named = tuple(_named_files(settings))
    ours = [path for path in named if with_credentials and path.parent == credentials.FOLDER]
    held = {path.name: path.read_bytes() for path in ours}
    left_out = tuple(str(path) for path in named if path not in ours)
    target = Path(file)
    if target.exists() and not is_archive(file):
        raise GatewayError(f"{file} is there already and is no archive of ours; it is left as it is: give another name")
    with TemporaryDirectory(dir=target.parent, prefix=".tank-gateway-") as folder:
        copy = Path(folder) / RECORD
        store.backup(str(copy))
        record = copy.read_bytes()
    contents = {"program": __version__, "site": settings.site.name, "left_out": left_out}
    packed = _pack(
        {
            CONTENTS: json.dumps(contents, ensure_ascii=False, indent=1).encode(),
            CONFIGURATION: settings.file_text.encode(),
            RECORD: record,
            **{f"{CREDENTIALS}{name}": octets for name, octets in held.items()},
        }
    )
    making = target.with_name(f".{target.name}.making")
    making.unlink(missing_ok=True)
    make(making, packed)
    flush(making)
    making.replace(target)
    return left_out


def read_archive(file: str) -> Archive:
    """What is in it. Raises GatewayError where it is none of ours, or not whole."""
    members: dict[str, bytes] = {}
    try:
        with tarfile.open(file, "r:gz") as archive:
            for member in archive:
                content = archive.extractfile(member) if member.isfile() else None
                if content is None or not _is_ours(member.name):
                    raise GatewayError(
                        f"{file} holds {member.name!r}, which no archive of ours does; nothing was touched"
                    )
                members[member.name] = content.read()
        contents = json.loads(members[CONTENTS])
        return Archive(
            record=members[RECORD],
            configuration=members[CONFIGURATION],
            credentials={
                name.removeprefix(CREDENTIALS): octets
                for name, octets in members.items()
                if name.startswith(CREDENTIALS)
            },
            left_out=tuple(contents["left_out"]),
        )
    except (tarfile.TarError, EOFError, OSError, KeyError, ValueError) as wrong:
        raise GatewayError(f"{file} is no whole archive of ours ({wrong}); nothing was touched") from None


def _pack(members: Mapping[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w:gz") as archive:
        for name, octets in members.items():
            entry = tarfile.TarInfo(name)
            entry.size, entry.mode = len(octets), OWNER_ONLY
            archive.addfile(entry, io.BytesIO(octets))
    return packed.getvalue()


def _is_ours(name: str) -> bool:
    credential = name.removeprefix(CREDENTIALS)
    plain = credential not in ("", ".", "..") and "/" not in credential and "\x00" not in credential
    return name in (RECORD, CONFIGURATION, CONTENTS) or (name.startswith(CREDENTIALS) and plain)


def _named_files(settings: Settings) -> Iterator[Path]:
    """Every file that the configuration goes by; only those in the folder of credentials can go into an archive."""
    named = [credentials.FOLDER / name for name in (settings.modem.pin_file, settings.mqtt.password_file) if name]
    for controller in settings.controllers:
        texts = (controller.ask.text_file, *(errand.text_file for errand in controller.errands))
        named += [Path(name) for name in texts if name]
    named += [Path(name) for name in (phrase_file(settings), settings.mqtt.ca_file) if name]
    yield from dict.fromkeys(named)
