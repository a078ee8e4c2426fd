"""What is installed: the unit's exposure, the scripts' style, what they refuse before anything is touched."""

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

DEPLOY = Path(__file__).parents[2] / "deploy"
SCRIPTS = sorted(
    str(file.relative_to(DEPLOY.parent))
    for folder in ("deploy", "tests", ".ci")
    for file in (DEPLOY.parent / folder).rglob("*")
    if file.suffix in ("", ".sh")
    and file.is_file()
    and file.read_bytes()[:50].startswith((b"#!/usr/bin/env bash", b"#!/bin/sh"))
)


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


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze on this machine")
def test_the_unit_and_its_addition_hold(tmp_path):
    """`systemd-analyze verify` finds nothing; only the program, which is not installed here, is stood in for."""
    unit = (DEPLOY / "tank-gateway.service").read_text()
    (tmp_path / "tank-gateway.service").write_text(unit.replace("/usr/bin/tank-gateway", "/bin/true"))
    (tmp_path / "tank-gateway.service.d").mkdir()
    shutil.copy(DEPLOY / "postgresql.conf", tmp_path / "tank-gateway.service.d")
    shown = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(tmp_path / "tank-gateway.service")],
        capture_output=True,
        text=True,
    )
    assert shown.returncode == 0 and not shown.stderr, shown.stderr


@pytest.mark.skipif(shutil.which("shellcheck") is None, reason="no shellcheck on this machine")
@pytest.mark.parametrize("script", SCRIPTS)
def test_scripts_pass_shellcheck(script):
    """No finding in any file that begins as a shell script does."""
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


def refused(*arguments, as_nobody=False):
    """What the installer says while it refuses."""
    before = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"] if as_nobody and os.geteuid() == 0 else []
    script = (DEPLOY / "install").read_text()
    shown = subprocess.run(
        [*before, "bash", "-s", "--", *arguments], input=script, capture_output=True, text=True, cwd="/"
    )
    assert shown.returncode == 1, shown.stdout
    return shown.stderr


def test_without_root_nothing_is_touched():
    """On this machine or in a tree."""
    assert "needs root" in refused(as_nobody=True)
    with tempfile.TemporaryDirectory() as tree:
        Path(tree).chmod(0o755)
        assert "needs root" in refused("--root", tree, as_nobody=True)
        assert list(Path(tree).iterdir()) == []


@pytest.mark.skipif(os.geteuid() != 0, reason="only root gets so far")
def test_a_tree_without_python_is_left_alone(tmp_path):
    """Said, and not one file in it."""
    assert "Python 3.11 or newer is missing" in refused("--root", str(tmp_path))
    assert not list(tmp_path.iterdir())


@pytest.mark.skipif(
    os.geteuid() != 0 or Path("/run/systemd/system").exists(), reason="it would install itself on this machine"
)
def test_without_systemd_it_says_so():
    """What to do instead is said too."""
    assert "no systemd runs here" in refused()


def test_no_registry_is_named():
    """The constraints name versions and no address."""
    text = (DEPLOY / "constraints.txt").read_text()
    assert "://" not in text and "==" in text
