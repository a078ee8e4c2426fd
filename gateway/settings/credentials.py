"""A secret that the configuration names the file of → what the file holds: from systemd's credentials where the service has them.

The unit loads the folder of credentials as root, so that the files in it need be readable by nobody else (systemd.exec(5),
LoadCredential: the files of a folder come under `ID_name`).
"""

import os
from pathlib import Path

FOLDER = Path("/etc/tank-gateway/credentials")
ID = "tank-gateway"
"""As in deploy/tank-gateway.service."""


def read_credential(named: str) -> str:
    """What systemd handed over of that name, else the file; a bare name is one of the credentials' folder.

    Raises OSError, or UnicodeDecodeError where it is no plain text.
    """
    file = FOLDER / named
    given = os.environ.get("CREDENTIALS_DIRECTORY")
    handed_over = Path(given) / f"{ID}_{file.name}" if given and file.parent == FOLDER else None
    return (handed_over if handed_over is not None and handed_over.exists() else file).read_text("ascii").strip()
