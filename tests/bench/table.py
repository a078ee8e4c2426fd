"""Every measurement → one table on standard output and, when all ran in full, `RESULTS.md`."""

import argparse
import importlib
import os
import platform
import sqlite3
import sys
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from tabulate import tabulate

from tests.bench.figure import Figure, Run

MEASUREMENTS = ("burst", "wire", "storing", "codec", "matching", "starting", "years", "resting")
RESULTS = Path(__file__).with_name("RESULTS.md")
HEADINGS = ("measured", "ratio", "bound", "kept", "ours", "floor", "floor is")


def main() -> int:
    """0: measured (whether the bounds are kept is for people to read)."""
    parser = argparse.ArgumentParser(prog="tests/bench/run", description=__doc__)
    parser.add_argument("--short", action="store_true", help="what CI runs: every measurement, little of each")
    parser.add_argument("measurements", nargs="*", metavar="MEASUREMENT", help=", ".join(MEASUREMENTS))
    arguments = parser.parse_args()
    wanted = arguments.measurements or MEASUREMENTS
    figures: list[tuple[str, Figure]] = []
    with tempfile.TemporaryDirectory(prefix="tank-gateway-bench-") as folder:
        run = Run(folder=Path(folder), short=arguments.short)
        for name in wanted:
            print(f"… {name}", file=sys.stderr)
            figures += [(name, figure) for figure in importlib.import_module(f"tests.bench.{name}").measure(run)]
    table = _table(figures)
    print(table, *run.notes, sep="\n")
    if tuple(wanted) == MEASUREMENTS and not arguments.short:
        RESULTS.write_text(_document(table, run.notes), "utf-8")
    return 0


def _table(figures: Iterable[tuple[str, Figure]]) -> str:
    rows = [
        (
            f"{name}: {figure.what}",
            "" if figure.ratio is None else f"{figure.ratio:.3g}",
            figure.bound,
            {None: "", True: "yes", False: "NO"}[figure.kept],
            f"{figure.ours:.4g} {figure.unit}",
            "" if figure.floor is None else f"{figure.floor:.4g} {figure.unit}",
            figure.floor_is,
        )
        for name, figure in figures
    ]
    return tabulate(rows, headers=HEADINGS, tablefmt="github", disable_numparse=True)


def _document(table: str, notes: Iterable[str]) -> str:
    said = "".join(f"\n- {note}" for note in notes)
    return (
        "# What was measured\n\n"
        f"Written by `tests/bench/run` on {datetime.now(UTC):%d %B %Y}: {_machine()}.\n"
        "Ratios are ours by the floor and carry over to other machines; absolute figures are as they came here. What each floor is and why\n"
        f"the rest is there stands in BENCH.md.\n\n{table}\n{said}\n"
    )


def _machine() -> str:
    cpu = next(
        (
            line.partition(":")[2].strip()
            for line in Path("/proc/cpuinfo").read_text().splitlines()
            if "model name" in line
        ),
        platform.machine(),
    )
    return (
        f"{os.cpu_count()} × {cpu or platform.machine()}, Linux {platform.release().partition('-')[0]}, "
        f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}"
    )


if __name__ == "__main__":
    sys.exit(main())
