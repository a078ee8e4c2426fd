"""`python -m tests.storage.killed WORK FOLDER STEP …`: the work, killed (SIGKILL) at each of those steps in a copy of its own.

A step is the beginning of an SQL statement on any connection, every so many instructions of SQLite within one, and every rename,
removal, link or change of mode of a file; the last is when all is done. Each copy of FOLDER/start is worked on in a process of its
own and is left as the kill left it, in FOLDER/STEP. STEP 0 is never killed; which steps do not lie within a statement is printed.

WORK: `open` opens (makes, migrates) the store, `backup` backs it up over an older backup, `restore` restores that backup.
"""

import os
import shutil
import signal
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path
from sqlite3 import dbapi2
from typing import Any

from gateway.storage import open_store
from gateway.storage.backup import backup, restore

INSTRUCTIONS = 40
"""So many of SQLite's virtual machine from one step within a statement to the next."""
FILE_STEPS = ("os.rename", "os.remove", "os.chmod", "os.link")
STORE, BACKUP = "gateway.db", "backup.db"


def main(work: str, folder: Path, steps: list[int]) -> None:
    """Works in one child a step: everything is imported once, and no bytecode is written: each file of it would be renamed into place by the
    first child, and be a step that the others do not have."""
    sys.dont_write_bytecode = True
    for step in steps:
        place = folder / str(step)
        shutil.copytree(folder / "start", place)
        child = os.fork()
        if child == 0:
            one_more = killed_at(step)
            WORKS[work](place)
            print(*one_more(), flush=True)
            os._exit(0)
        _, ended = os.waitpid(child, 0)
        if (os.WTERMSIG(ended) if os.WIFSIGNALED(ended) else 0) != (signal.SIGKILL if step else 0):
            sys.exit(f"step {step}: ended with {ended}")


def killed_at(step: int) -> Callable[[], list[int]]:
    """SIGKILL at that step. What comes back is one step more, and answers which steps were whole ones: not within a statement."""
    steps = 0
    whole: list[int] = []

    def go_on() -> int:
        nonlocal steps
        steps += 1
        if steps == step:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    def one_more(*_: Any) -> list[int]:
        go_on()
        whole.append(steps)
        return whole

    def seen(name: str, _arguments: tuple[Any, ...]) -> None:
        if name in FILE_STEPS:
            one_more()

    def connected(*arguments: Any, **named: Any) -> sqlite3.Connection:
        connection = connect(*arguments, **named)
        connection.set_trace_callback(one_more)
        connection.set_progress_handler(go_on, INSTRUCTIONS)
        return connection

    connect = sqlite3.connect
    sqlite3.connect = dbapi2.connect = connected
    sys.addaudithook(seen)
    return one_more


def _open(place: Path) -> None:
    open_store(f"sqlite:///{place / STORE}", "Quandong Ridge").close()


def _backup(place: Path) -> None:
    backup(f"sqlite:///{place / STORE}", str(place / BACKUP))


def _restore(place: Path) -> None:
    restore(str(place / BACKUP), f"sqlite:///{place / STORE}", "then")


WORKS = {"open": _open, "backup": _backup, "restore": _restore}

if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), [int(step) for step in sys.argv[3:]])
