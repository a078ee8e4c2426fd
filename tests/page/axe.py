"""axe-core, for who wants it: `python -m tests.page.axe` fetches the one version below with npm, checks its hash, and keeps it out of git.

It is a test's tool under a licence of its own (MPL 2.0) and larger than the rest of the tests, so it is not in the repository.
"""

import hashlib
import shutil
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

VERSION = "4.14.1"
SHA512 = (
    "1477dafa598d8d065f273d6af302aa203c02e83131707b7fa648cd41bd3d6b73"
    "4f8c22a0dab86ee6a6f64b8afbe804b214d36db85a2826965edfb3a0b9d546b5"
)
PLACE = Path(__file__).parent / ".axe" / f"axe-{VERSION}.min.js"
AXE = PLACE if PLACE.exists() else None


def fetch() -> Path:
    """Fetches, checks and keeps it."""
    npm = shutil.which("npm")
    if npm is None:
        sys.exit("npm is not here (apt install npm)")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [npm, "pack", f"axe-core@{VERSION}", "--silent"], cwd=folder, check=True, stdout=subprocess.DEVNULL
        )
        archive = Path(folder) / f"axe-core-{VERSION}.tgz"
        digest = hashlib.sha512(archive.read_bytes()).hexdigest()
        if digest != SHA512:
            sys.exit(f"axe-core {VERSION} has the hash {digest}, expected {SHA512}; nothing was kept")
        with tarfile.open(archive) as tar:
            script = tar.extractfile("package/axe.min.js")
            assert script is not None
            PLACE.parent.mkdir(exist_ok=True)
            PLACE.write_bytes(script.read())
    return PLACE


if __name__ == "__main__":
    print(f"Kept: {fetch()}")
