"""A FILE of the command line that shall be written → refused where what stands there is nobody's to replace."""

from collections.abc import Callable
from pathlib import Path

from gateway.errors import GatewayError
from gateway.storage.files import is_sqlite, no_file


def refuse_what_is_not_ours(
    file: Path, config: Path, *, is_ours: Callable[[Path], bool], what: str, example: str, force: bool | None = None
) -> None:
    """Only a file of ours is replaced; with `force` another too, but never what the gateway lives on; None: the command has no such
    option. Raises GatewayError."""
    refusal = no_file(file, example)
    if refusal is not None:
        raise GatewayError(refusal)
    if not file.exists():
        return
    if config.exists() and file.samefile(config):
        raise GatewayError(f"{file} is the configuration; it is left as it is: give another name")
    if is_sqlite(file):
        raise GatewayError(f"{file} is a store or a backup; it is left as it is: give another name")
    if not force and not is_ours(file):
        forced = "" if force is None else ", or --force to replace it"
        raise GatewayError(f"{file} is there already and is no {what} of ours; give another name{forced}")
