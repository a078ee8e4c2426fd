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
    for one in (*UNDONE, *UNDONE_MODEM):
        if rows and one.row not in rows:
            continue
        failed = _fails_without(one)
        unseen += not failed
        print(f"{one.row:3}  {'seen to fail' if failed else 'NOT SEEN TO FAIL'}  without: {one.remedy}", flush=True)
    return unseen


def _fails_without(one: Without) -> bool:
    with tempfile.TemporaryDirectory(prefix="without-") as place:
        copy = Path(place)
        for name in ("gateway", "tests", "config"):
            shutil.copytree(HERE / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(HERE / "pyproject.toml", copy)
        for name, old, new in ((one.file, one.old, one.new), *one.also):
            file = copy / name
            text = file.read_text("utf-8")
            if old not in text:
                print(f"     {name} no longer has: {old!r}")
                return False
            file.write_text(text.replace(old, new), "utf-8")
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-o", "addopts=", one.tests]
        try:
            ended = subprocess.run(
                [*command, "-k", f"row_{one.row:02}_ or row_{one.row}_ or and_{one.row:02}_ "],
                cwd=copy,
                capture_output=True,
                text=True,
                timeout=300,
            )
        except subprocess.TimeoutExpired:
            return True
        return ended.returncode == 1 and "no tests ran" not in ended.stdout


if __name__ == "__main__":
    sys.exit(min(main([int(one) for one in sys.argv[1:]]), 1))
