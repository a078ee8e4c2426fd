"""A command → its answer, and `serve` → ready: the wall time of the whole process against a bare Python."""

import resource
import subprocess
import sys
import time
from pathlib import Path

from gateway.simulator import Habits
from tests.bench.figure import Figure, Run
from tests.bench.programs import GATEWAY, Program, at_modem, config_on, environment

COMMANDS = (("check",), ("tanks",), ("history", "--since", "30d"), ("texts", "--since", "30d"))


def measure(run: Run) -> list[Figure]:
    """The best of several, as a start competes with whatever else the machine does."""
    times = 1 if run.short else 7
    bare = min(took((sys.executable, "-c", "pass")) for _ in range(times))
    with at_modem(Habits()) as modem:
        config = config_on(run.place("starting"), modem.device)
        ready = min(_until_ready(config) for _ in range(times))
    figures = [
        Figure(what="serve, until the modem is ready", ours=ready, floor=bare, unit="s", floor_is="a bare Python")
    ]
    for words in COMMANDS:
        fastest = min(took((*GATEWAY, *words, "--config", str(config))) for _ in range(times))
        figures.append(Figure(what=words[0], ours=fastest, floor=bare, unit="s", floor_is="a bare Python"))
    return figures


def took(words: tuple[str, ...]) -> float:
    """Seconds of the process; it must end well."""
    began = time.perf_counter()
    subprocess.run(words, cwd=Path(__file__).parents[2], env=environment(), capture_output=True, check=True)
    return time.perf_counter() - began


def processor(words: tuple[str, ...]) -> float:
    """Seconds of processor, its children's too: what else the machine does weighs less in it."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    took(words)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _until_ready(config: Path) -> float:
    began = time.perf_counter()
    program = Program(*GATEWAY, "serve", "--config", str(config))
    program.said("ModemReady")
    seconds = time.perf_counter() - began
    program.end()
    return seconds
