"""The installation into a fresh Debian tree, and the service under that tree's own systemd. Long: `tests/run --soak` alone.

The tree is made by debootstrap as Debian's mirrors have it now, booted by systemd-nspawn without a network, and removed afterwards.
What it took is printed; deploy/DECISIONS.md has the figures.
"""

import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

import pytest

HERE = Path(__file__).parent
INSTALL = HERE.parents[1] / "deploy" / "install"
NEEDED = "systemd,systemd-sysv,dbus,udev,python3"
ROOM = "/var/tmp"
BOOTED_WITHIN_S = 300
TRY = """
[Unit]
Wants=tank-gateway.service
After=tank-gateway.service
[Service]
Type=oneshot
ExecStart=/root/try-in-tree
TimeoutStartSec=240
[Install]
WantedBy=multi-user.target
"""

pytestmark = [pytest.mark.soak, pytest.mark.xdist_group("tree")]


@pytest.fixture(scope="module")
def note(request):
    """Writes a line that is seen although what tests print is not."""
    capture = request.config.pluginmanager.getplugin("capturemanager")

    def write(line):
        with capture.global_and_fixture_disabled():
            print(f"\n{line}")

    return write


def megabytes(folder):
    """What it takes on the disk."""
    return int(subprocess.run(["du", "-sxm", folder], capture_output=True, text=True).stdout.split()[0])


@pytest.fixture(scope="module", params=["bookworm", "trixie"])
def tree(request, note):
    """Debian 12 or 13, with the gateway installed in it."""
    absent = [name for name in ("debootstrap", "systemd-nspawn") if shutil.which(name) is None]
    if absent or os.geteuid() != 0:
        pytest.skip(f"needs root, debootstrap and systemd-container here (not found: {', '.join(absent) or 'root'})")
    folder = Path(tempfile.mkdtemp(prefix="tank-gateway-tree-", dir=ROOM))
    folder.chmod(0o755)  # it becomes a `/`, which everybody may enter
    try:
        made = subprocess.run(
            ["debootstrap", "--variant=minbase", f"--include={NEEDED}", request.param, str(folder)],
            capture_output=True,
            text=True,
        )
        if made.returncode != 0:
            pytest.skip(f"no tree could be made: {made.stdout[-300:]}")
        before = megabytes(folder)
        began = time.monotonic()
        installed = install(folder)
        took = time.monotonic() - began
        assert installed.returncode == 0, installed.stderr[-1500:]
        note(
            f"{request.param}: installed into a tree of {before} MB in {took:.0f} s; it takes {megabytes(folder) - before} MB"
        )
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def install(folder, *more):
    """The installer on a tree."""
    return subprocess.run([str(INSTALL), "--root", str(folder), *more], capture_output=True, text=True)


def test_a_second_installation_changes_nothing_of_yours(tree):
    """The configuration and the credentials stay; the program can be asked at once."""
    file = tree / "etc/tank-gateway/gateway.toml"
    secret = tree / "etc/tank-gateway/credentials/pin"
    file.write_text(file.read_text().replace('"House tank"', '"Big tank"'))
    secret.write_text("1234")
    secret.chmod(0o600)
    again = install(tree)
    assert again.returncode == 0, again.stderr
    assert '"Big tank"' in file.read_text() and secret.read_text() == "1234"
    assert file.stat().st_mode & 0o007 == 0 and secret.parent.stat().st_mode & 0o007 == 0
    asked = subprocess.run(["chroot", str(tree), "tank-gateway", "check"], capture_output=True, text=True)
    assert asked.returncode == 0 and "holds" in asked.stdout, asked.stderr
    noted = subprocess.run(["chroot", str(tree), "tank-gateway", "note", "root asked first"], capture_output=True)
    assert noted.returncode == 0 and (tree / "var/lib/tank-gateway/gateway.db").exists(), (
        "the service must do with what that made"
    )
    compiled = list((tree / "opt/tank-gateway/lib").rglob("gateway/__pycache__/*.pyc"))
    assert compiled and not list((tree / "tmp").iterdir()) and not list((tree / "root").glob("*.deb"))


def test_the_service_under_a_real_systemd(tree, note):
    """Ready by its own word, shut in, its PIN from root's hand; obeyed; back after kill -9 and after a hang; stopped in order."""
    can = subprocess.run(["systemd-nspawn", "-q", "-D", str(tree), "--register=no", "--keep-unit", "/bin/true"])
    if can.returncode != 0:
        pytest.skip("systemd-nspawn may not make containers here")
    file = tree / "etc/tank-gateway/gateway.toml"
    file.write_text(file.read_text().replace('device = "/dev/gateway-modem"', 'device = "simulated"\npin_file = "pin"'))
    assert 'device = "simulated"' in file.read_text()
    dropin = tree / "etc/systemd/system/tank-gateway.service.d"
    dropin.mkdir(exist_ok=True)
    (dropin / "sooner.conf").write_text("[Service]\nWatchdogSec=8\n")
    (tree / "etc/systemd/system/try.service").write_text(TRY)
    shutil.copy(HERE / "try-in-tree", tree / "root")
    subprocess.run(["chroot", str(tree), "systemctl", "enable", "-q", "try"], check=True)
    booted = subprocess.run(
        ["systemd-nspawn", "-q", "-D", str(tree), "--register=no", "--keep-unit", "--private-network", "--boot"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=BOOTED_WITHIN_S,
        text=True,
    )
    if not (tree / "root/seen").exists():
        pytest.skip(f"its systemd does not boot here: {booted.stdout[-300:]!r}")
    seen = dict(line.split("=", 1) for line in (tree / "root/seen").read_text().splitlines())
    note(f"under systemd: ready after {int(seen['ready_after_us']) / 1e6:.1f} s, resident {seen['VmRSS']}")
    assert "never" not in seen, (seen, (tree / "root/journal").read_text()[-2000:])
    expected = {
        "Type": "notify",
        "ActiveState": "active",
        "StatusText": "at work",
        "User": "tank-gateway",
        "NoNewPrivs": "1",
        "Seccomp": "2",
        "CapEff": "0000000000000000",
        "state_folder": "tank-gateway:tank-gateway:750",
        "store": "tank-gateway:600",
        "life_sign": "tank-gateway:0",
        "daemon_found": "1",
        "reloaded": "yes",
        "mistake_refused": "1",
        "back_after_kill": "yes",
        "back_after_hang": "yes",
        "stopped": "success inactive",
        "last_event": "gateway-stopped",
        "failed_units": "0",
    }
    assert {name: seen.get(name) for name in expected} == expected, (tree / "root/journal").read_text()[-2000:]
    assert int(seen["messages"]) >= 1


def test_removal_leaves_data_and_configuration(tree):
    """All else goes; what dpkg itself remembers of it stays until it is purged."""
    assert install(tree, "--remove").returncode == 0
    dpkgs_own = ("var/lib/dpkg", "var/log", "var/lib/systemd/deb-systemd-helper", "root/", "sys/", "proc/")
    left = [str(file.relative_to(tree)) for file in tree.rglob("*tank-gateway*")]
    left = [file for file in left if not file.startswith(dpkgs_own)]
    assert set(left) <= {"etc/tank-gateway", "var/lib/tank-gateway", "etc/systemd/system/tank-gateway.service.d"} | {
        message
        for message in left
        if message.startswith(("var/log", "var/lib/private", "etc/tank-gateway/", "var/lib/tank-gateway/"))
    }
    assert (tree / "var/lib/tank-gateway/gateway.db").exists() and (tree / "etc/tank-gateway/gateway.toml").exists()
