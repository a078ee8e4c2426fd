"""What is installed: the unit's exposure, the scripts' style, what they refuse before anything is touched."""

import re
import shutil
import subprocess
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
    (tmp_path / "tank-gateway.service").write_text(unit.replace("/opt/tank-gateway/bin/tank-gateway", "/bin/true"))
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


def test_no_registry_is_named():
    """The constraints name versions and no address."""
    text = (DEPLOY / "constraints.txt").read_text()
    assert "://" not in text and "==" in text
