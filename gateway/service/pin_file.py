"""modem.pin_file → the SIM's PIN: from systemd's credentials where the service has them, else from the file itself.

The unit loads the folder of credentials as root, so that the files in it need be readable by nobody else (systemd.exec(5),
LoadCredential: the files of a folder come under `ID_name`).
"""

import hashlib
import os
from pathlib import Path

from gateway.errors import ConfigurationWrong, Problem
from gateway.settings.models import Settings

FOLDER = Path("/etc/tank-gateway/credentials")
ID = "tank-gateway"
"""As in deploy/tank-gateway.service."""


def pin(settings: Settings) -> str | None:
    """The PIN; None: no file is named. Raises ConfigurationWrong."""
    named = settings.modem.pin_file
    if not named:
        return None
    try:
        return _place(named).read_text("ascii").strip()
    except (OSError, UnicodeDecodeError) as wrong:
        shown = "(digits)" if named.strip().isdigit() else named  # it may be the PIN itself, which belongs into no log
        why = wrong.strerror if isinstance(wrong, OSError) else "it is no plain text"
        raise ConfigurationWrong(
            (
                Problem(
                    file=shown,
                    line=0,
                    key="modem.pin_file",
                    found=shown,
                    wrong=f"the PIN file cannot be read: {why}",
                    right=f"a file in {FOLDER} that holds the SIM's PIN and nothing else, readable by root alone",
                ),
            )
        ) from None


def pin_mark(settings: Settings) -> str:
    """One try per PIN: a new PIN in the file may be tried once more. Only a hash is kept."""
    return hashlib.sha256(f"tank-gateway:{pin(settings)}".encode()).hexdigest()[:16]


def _place(named: str) -> Path:
    """What systemd handed over of that name, else the file; a bare name is one of the credentials' folder."""
    file = FOLDER / named
    given = os.environ.get("CREDENTIALS_DIRECTORY")
    handed_over = Path(given) / f"{ID}_{file.name}" if given and file.parent == FOLDER else None
    return handed_over if handed_over is not None and handed_over.exists() else file
