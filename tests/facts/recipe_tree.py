"""A copy of the program into which a recipe of DEVELOPERS.md is carried out, and what is run there."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

REPOSITORY = Path(__file__).parents[2]


class Tree:
    """The copy; `python` runs in it before all else, the tests' own helpers come from where they are."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "tree"
        shutil.copytree(REPOSITORY / "gateway", self.folder / "gateway", ignore=shutil.ignore_patterns("__pycache__"))

    def insert(self, file: str, before: str, text: str) -> None:
        """Puts text before what stands but once in a file."""
        path = self.folder / "gateway" / file
        whole = path.read_text("utf-8")
        assert whole.count(before) == 1, f"{file}: {before!r} stands {whole.count(before)} times"
        path.write_text(whole.replace(before, text + before), "utf-8")

    def append(self, file: str, text: str) -> None:
        """Puts text behind a file's last line."""
        path = self.folder / "gateway" / file
        path.write_text(path.read_text("utf-8") + text, "utf-8")

    def python(self, *arguments: str) -> None:
        """Runs it; an error's traceback is the message."""
        told = subprocess.run(
            [sys.executable, *arguments],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": f"{self.folder}{os.pathsep}{REPOSITORY}"},
            capture_output=True,
            text=True,
            check=False,
        )
        assert told.returncode == 0, told.stderr
