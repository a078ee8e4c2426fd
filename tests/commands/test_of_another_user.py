"""A store that is the service's alone: whoever else runs a command learns whose it is, and no false word of the daemon."""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from gateway.__main__ import main
from gateway.storage import open_store
from gateway.storage.lock import hold
from tests.household import write_config

AS_SOMEBODY = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
"""Who owns nothing here; only root can become somebody else, and a Python in root's own home is not for all."""
ERRAND = '[[controllers.errands]]\nid = "status"\ntext = "REPORT"\n'


@pytest.fixture
def home():
    """A configuration that all may read, and a store of root's with a daemon on it."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder)
        kept.chmod(0o755)
        file = write_config(kept, controller=ERRAND)
        file.chmod(0o644)
        url = f"sqlite:///{kept}/gateway.db"
        open_store(url, "Quandong Ridge").close()
        lock = hold(url, "Quandong Ridge")
        yield kept
        lock.release()


def run_as_somebody(*words):
    """A program as that user."""
    return subprocess.run(
        [*AS_SOMEBODY, sys.executable, *words], capture_output=True, text=True, stdin=subprocess.DEVNULL
    )


@pytest.fixture(scope="module", autouse=True)
def _somebody_can_run_it():
    able = os.geteuid() == 0 and shutil.which("setpriv") and run_as_somebody("-c", "import gateway").returncode == 0
    if not able:
        pytest.skip("nobody else can run this Python here")


def as_somebody(home, *words):
    """(exit code, what it said)."""
    done = run_as_somebody("-m", "gateway", *words, "--config", str(home / "gateway.toml"))
    return done.returncode, done.stdout + done.stderr


@pytest.mark.parametrize("folder_mode", [0o755, 0o700])
@pytest.mark.parametrize("words", [("errand", "ridge", "status"), ("tanks",)])
def test_it_is_said_whose_the_store_is(home, words, folder_mode):
    """The file is root's, or the folder that it lies in: nothing is said of a daemon that does not run, nor of texts on a SIM."""
    file = home / "gateway.toml"
    if folder_mode == 0o700:
        (home / "kept").mkdir(mode=0o700)
        file.write_text(file.read_text().replace(f"{home}/gateway.db", f"{home}/kept/gateway.db"))
    code, said = as_somebody(home, *words)
    place = (
        home / "kept" if folder_mode == 0o700 else home / ("gateway.db.lock" if words[0] == "errand" else "gateway.db")
    )
    assert code == 1 and f"{place} belongs to root alone: try sudo" in said
    assert "no daemon runs" not in said and "SIM" not in said


def test_the_doctor_goes_on(home):
    """It says that of the store, and what it can see all the same."""
    code, said = as_somebody(home, "doctor")
    assert code == 1 and "gateway.db belongs to root alone" in " ".join(said.split())
    assert "clock" in said and "disk" in said and "does not run" not in said


def test_whoever_may_read_it_is_hindered_by_nothing(home, capsys):
    """Root, or the service's own user."""
    assert main(["tanks", "--config", str(home / "gateway.toml")]) == 0
    assert "House tank" in capsys.readouterr().out
