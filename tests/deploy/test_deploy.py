"""What is installed: the unit's exposure, the scripts' style, what they refuse before anything is touched."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

DEPLOY = Path(__file__).parents[2] / "deploy"


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze on this machine")
def test_exposure_of_the_unit():
    """At most 0.5 by `systemd-analyze security --offline=true`."""
    shown = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", str(DEPLOY / "tank-gateway.service")],
        capture_output=True,
        text=True,
    )
    found = re.search(r"exposure level for tank-gateway.service: ([\d.]+)", shown.stdout)
    assert found is not None and float(found[1]) <= 0.5, shown.stdout[-300:]


@pytest.mark.skipif(shutil.which("shellcheck") is None, reason="no shellcheck on this machine")
@pytest.mark.parametrize("script", ["deploy/setup", "deploy/rehearse", "deploy/install", "tests/run", ".ci/run"])
def test_scripts_pass_shellcheck(script):
    """No finding."""
    shown = subprocess.run(["shellcheck", str(DEPLOY.parent / script)], capture_output=True, text=True)
    assert shown.returncode == 0, shown.stdout


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [(["--nonsense"], 2, "unknown option"), (["--root", "/no/such/folder"], 1, "there is no folder")],
)
def test_what_cannot_be_is_said_before_anything_is_touched(arguments, code, said):
    """Wrong usage and missing folders."""
    shown = subprocess.run(["bash", str(DEPLOY / "install"), *arguments], capture_output=True, text=True)
    assert shown.returncode == code and said in shown.stderr


def test_no_registry_is_named():
    """The constraints name versions and no address."""
    text = (DEPLOY / "constraints.txt").read_text()
    assert "://" not in text and "==" in text
