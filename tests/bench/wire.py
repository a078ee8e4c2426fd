"""The same with a wire of so many baud and a network that takes two seconds a message: all that is left is waiting."""

import time
from concurrent.futures import ThreadPoolExecutor

from gateway.simulator import Habits
from tests.bench.burst import CONTACTS, single
from tests.bench.figure import Figure, Run
from tests.bench.programs import at_modem, minimal, serving

SEND_S = 2.0
BAUDS = (9_600, 115_200)


def measure(run: Run) -> list[Figure]:
    """Both speeds, both programs, all at the same time: each of them only waits."""
    texts = 1 if run.short else 8
    began = time.perf_counter()
    with ThreadPoolExecutor(4) as at_once:
        jobs = {
            (baud, name): at_once.submit(_took, run, baud, name, started, texts)
            for baud in BAUDS
            for name, started in (("minimal", minimal), ("ours", serving))
        }
    run.notes.append(f"wire: four programs side by side, {time.perf_counter() - began:.0f} s in all.")
    return [
        Figure(
            what=f"{texts} texts, one after the other, to {CONTACTS} contacts at {baud} baud, {SEND_S:g} s a message",
            ours=jobs[baud, "ours"].result(),
            floor=jobs[baud, "minimal"].result(),
            unit="s",
            most=1.05,
            floor_is=f"the minimal script; {(texts * CONTACTS - 1) * SEND_S:g} s of it is the network",
        )
        for baud in BAUDS
    ]


def _took(run: Run, baud: int, name: str, started, texts: int) -> float:
    habits = Habits(capacity={"SM": 100, "ME": 100}, baud=baud, send_seconds=SEND_S)
    with at_modem(habits) as modem, started(run.place(f"wire-{baud}-{name}"), modem):
        began = time.perf_counter()
        for number in range(texts):
            single(modem, number)
        return time.perf_counter() - began
