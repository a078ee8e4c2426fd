"""Where a rehearsal leaves its store, its configuration and its page."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from gateway.errors import GatewayError

STORE, CONFIGURATION, PAGE = "gateway.db", "gateway.toml", "page.html"


@contextmanager
def rehearsal_folder(given: str | None, prefix: str) -> Iterator[Path]:
    """The folder that was given, or a temporary one: that goes again where the rehearsal does not come to its end.

    Raises GatewayError where something would be written over: it may be the household's own.
    """
    folder = Path(given or tempfile.mkdtemp(prefix=prefix)).absolute()
    folder.mkdir(parents=True, exist_ok=True)
    for name in (STORE, CONFIGURATION, PAGE):
        if (folder / name).exists():
            raise GatewayError(f"{folder / name} is there already; a rehearsal begins with an empty folder")
    try:
        yield folder
    except BaseException:
        if given is None:
            shutil.rmtree(folder, ignore_errors=True)
        raise
