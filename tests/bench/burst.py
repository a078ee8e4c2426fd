"""Announced texts → every contact told: the gateway against the minimal script, on a modem that answers at once."""

import time
from statistics import median
from typing import Any

from gateway.rehearsal import Habits, SimulatedModem
from tests.bench.figure import Figure, Run
from tests.bench.programs import WITHIN_S, at_modem, minimal, serving
from tests.household import RIDGE

CONTACTS = 2
FLOOR = "pyserial, decode, one commit a text, send"


def measure(run: Run) -> list[Figure]:
    """The burst's first and last message, and those of single texts."""
    texts, singles = (10, 3) if run.short else (40, 15)
    took: dict[str, tuple[list[float], list[float]]] = {}
    for name, started in (("minimal", minimal), ("ours", serving)):
        with at_modem(Habits(capacity={"SM": 100, "ME": 100})) as modem, started(run.place(f"burst-{name}"), modem):
            took[name] = (_burst(modem, texts), _singles(modem, singles))
    ours, floor = took["ours"], took["minimal"]
    shared: dict[str, Any] = {"unit": "ms", "floor_is": FLOOR}
    return [
        Figure(what=f"{texts} texts, last contact told", ours=ours[0][1], floor=floor[0][1], most=1.5, **shared),
        Figure(what=f"{texts} texts, first message handed over", ours=ours[0][0], floor=floor[0][0], **shared),
        Figure(what="one text, first message handed over", ours=ours[1][0], floor=floor[1][0], **shared),
        Figure(what="one text, last contact told", ours=ours[1][1], floor=floor[1][1], most_ours=100.0, **shared),
    ]


def _burst(modem: SimulatedModem, texts: int) -> list[float]:
    """Milliseconds to the first and to the last message."""
    before = len(modem.network.outgoing)
    began = time.perf_counter()
    with modem.at_once():
        for number in range(texts):
            modem.network.deliver(RIDGE, f"ZONE 1 {('OPEN', 'SHUT')[number % 2]} {number:04}")
    return _told(modem, before, texts * CONTACTS, began)


def _singles(modem: SimulatedModem, texts: int) -> list[float]:
    """The medians of several single texts, each on a gateway that has come to rest."""
    took = []
    for number in range(texts):
        time.sleep(0.3)
        before = len(modem.network.outgoing)
        began = time.perf_counter()
        modem.network.deliver(RIDGE, f"ZONE 1 {('OPEN', 'SHUT')[number % 2]} {number + 5000:04}")
        took.append(_told(modem, before, CONTACTS, began))
    return [median(one) for one in zip(*took, strict=True)]


def _told(modem: SimulatedModem, before: int, messages: int, began: float) -> list[float]:
    marks = []
    for count in (1, messages):
        modem.network.wait_for_outgoing(before + count, WITHIN_S)
        marks.append((time.perf_counter() - began) * 1000)
    return marks
