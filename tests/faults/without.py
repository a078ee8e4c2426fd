"""`python -m tests.faults.without [ROW …]`: each row's remedy taken out → its test must fail.

A copy of the program is made, one remedy in it is undone, and the row's test is run there. What is printed is the proof that
no test of the fault table is a test that cannot fail: `seen to fail` or `NOT SEEN TO FAIL`.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.faults.undone import UNDONE, Without
from tests.faults.undone_modem import UNDONE_MODEM

HERE = Path(__file__).resolve().parents[2]


def main(rows: list[int]) -> int:
    """How many were not seen to fail."""
    unseen = 0
    for without in (*UNDONE, *UNDONE_MODEM):
        if rows and without.row not in rows:
            continue
        failed = _fails_without(without)
        unseen += not failed
        print(
            f"{without.row:3}  {'seen to fail' if failed else 'NOT SEEN TO FAIL'}  without: {without.remedy}",
            flush=True,
        )
    return unseen


def _fails_without(without: Without) -> bool:
    with tempfile.TemporaryDirectory(prefix="without-") as place:
        copy = Path(place)
        for name in ("gateway", "tests", "config"):
            shutil.copytree(HERE / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(HERE / "pyproject.toml", copy)
        for name, old, new in ((without.file, without.old, without.new), *without.also):
            file = copy / name
            text = file.read_text("utf-8")
            if old not in text:
                print(f"     {name} no longer has: {old!r}")
                return False
            file.write_text(text.replace(old, new), "utf-8")
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-x",
            "-p",
            "no:cacheprovider",
            "-o",
            "addopts=",
            without.tests,
        ]
        try:
            ended = subprocess.run(
                [*command, "-k", f"row_{without.row:02}_ or row_{without.row}_ or and_{without.row:02}_ "],
                cwd=copy,
                capture_output=True,
                text=True,
                timeout=300,
            )
        except subprocess.TimeoutExpired:
            return True
        return ended.returncode == 1 and "no tests ran" not in ended.stdout


if __name__ == "__main__":
    sys.exit(min(main([int(word) for word in sys.argv[1:]]), 1))
