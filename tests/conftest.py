"""Options of the whole suite: `--soak` runs every fault as often as the table says, `--seed` replays one, `--counts` keeps account."""

import json
import os
import re
import shutil
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from sqlalchemy import create_engine

from gateway.storage import sqlite

settings.register_profile("suite", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("suite")
"""No time is asserted: a loaded machine is no failure."""

ORDINARY_SHARE = 20

MEMORY, ROOM_BYTES = Path("/dev/shm"), 2 * 1024**3


def _work_in_memory() -> None:
    """A durable commit costs nothing in memory, 10 ms on a busy disk: where there is room, what a test keeps for itself lies there."""
    if "TMPDIR" in os.environ or not os.access(MEMORY, os.W_OK | os.X_OK):
        return
    if shutil.disk_usage(MEMORY).free > ROOM_BYTES and not os.statvfs(MEMORY).f_flag & os.ST_NOEXEC:
        os.environ["TMPDIR"] = tempfile.tempdir = str(MEMORY)


_work_in_memory()
os.environ["TANK_GATEWAY_DEBUG"] = "1"
"""What a daemon in a process of its own has done is told by its own story, which tests wait for."""
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
"""Else each of the processes that a test starts compiles the whole program anew."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--soak", action="store_true", help="every fault as often as the fault table says")
    parser.addoption("--minutes", type=float, default=30.0, help="how long the soak of mixed faults takes")
    parser.addoption("--counts", metavar="FILE", help="a line of JSON for each test of a fault: row, trials, outcome")
    parser.addoption("--seed", type=int, default=20261125, help="seed of the fault tests")


@pytest.hookimpl(tryfirst=True)  # before xdist reads the marks
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if _shares_what_a_module_makes(item):
            item.add_marker(pytest.mark.xdist_group(item.nodeid.partition("::")[0]))
    if config.getoption("--soak"):
        return
    skip = pytest.mark.skip(reason="a long soak: tests/run --soak")
    for item in items:
        if "soak" in item.keywords:
            item.add_marker(skip)


def pytest_collection_finish(session: pytest.Session) -> None:
    """xdist 3.8 cannot group under pytest 9.2, and says nothing: each worker then has a PostgreSQL, a browser and a year of its own."""
    grouped = [item for item in session.items if item.get_closest_marker("xdist_group") is not None]
    if getattr(session.config.option, "loadgroup", False) and not all("@" in item.nodeid for item in grouped):
        raise pytest.UsageError(
            "pytest-xdist does not group under this pytest; deploy/constraints.txt names one under which it does"
        )


def _shares_what_a_module_makes(item: pytest.Item) -> bool:
    """What a module's fixture makes (a household's year) is made once, and not once by each worker."""
    made = item._fixtureinfo.name2fixturedefs if isinstance(item, pytest.Function) else {}
    of_module = any(fixtures[-1].scope == "module" for fixtures in made.values())
    return of_module and item.get_closest_marker("xdist_group") is None


@pytest.fixture(scope="session", autouse=True)
def runtime_directory(tmp_path_factory: pytest.TempPathFactory):
    """What a gateway under test keeps in memory goes with the test's folder, also if it is killed."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("RUNTIME_DIRECTORY", str(tmp_path_factory.mktemp("run")))
        yield


@pytest.fixture(scope="session", autouse=True)
def statements_are_compiled_once():
    """Hundreds of stores are opened in a session: what SQLAlchemy made of a statement serves each of them, not one engine alone."""
    first = create_engine("sqlite://")
    first.connect().close()

    def sharing(*arguments, **options):
        engine = create_engine(*arguments, **options)
        engine.dialect, engine._compiled_cache = first.dialect, first._compiled_cache
        return engine

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(sqlite, "create_engine", sharing)
        yield


@pytest.fixture
def seed(request: pytest.FixtureRequest) -> int:
    """The seed of a fault test."""
    return int(request.config.getoption("--seed"))


@pytest.fixture
def trials(request: pytest.FixtureRequest):
    """How often to inject a fault whose table row says `n`: all of it in the soak, else a twentieth (at least one)."""
    soak = bool(request.config.getoption("--soak"))

    def often(n: int) -> int:
        count = n if soak else max(1, n // ORDINARY_SHARE)
        request.node.user_properties.append(("trials", count))
        return count

    return often


class Account:
    """One line for each test of a row of the fault table, as it ends."""

    def __init__(self, file: Path) -> None:
        self._file = file

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A test that says nothing of trials is one."""
        row = re.search(r"::test_row_(\d+)", report.nodeid)
        if row is None or report.when != "call":
            return
        trials = max((value for name, value in report.user_properties if name == "trials"), default=1)
        line = {"row": int(row[1]), "test": report.nodeid, "trials": trials, "outcome": report.outcome}
        with self._file.open("a", encoding="utf-8") as account:
            account.write(json.dumps(line) + "\n")


def pytest_configure(config: pytest.Config) -> None:
    """The account is kept by whoever collects the reports, not by each worker."""
    file = config.getoption("--counts")
    if file and not hasattr(config, "workerinput"):
        config.pluginmanager.register(Account(Path(file)))


OUTSIDE = {
    "chromium": "chromium",
    "debootstrap": "debootstrap",
    "initdb": "postgresql",
    "mosquitto": "mosquitto",
    "openssl": "openssl",
    "shellcheck": "shellcheck",
    "strace": "strace",
    "systemd-analyze": "systemd",
    "systemd-nspawn": "systemd-container",
}
"""Programs that some tests need, and Debian's packages of them."""


def pytest_terminal_summary(terminalreporter) -> None:
    """One line for all that was skipped: what runs it."""
    skipped = len(terminalreporter.stats.get("skipped", ()))
    if skipped:
        places = [os.environ.get("PATH", ""), "/usr/sbin", *map(str, Path("/usr/lib/postgresql").glob("*/bin"))]
        missing = {package for name, package in OUTSIDE.items() if not shutil.which(name, path=":".join(places))}
        packages = f"; sudo apt install {' '.join(sorted(missing))}" if missing else ""
        terminalreporter.write_line(f"{skipped} skipped. What runs them: tests/run --soak for the long ones{packages}")
