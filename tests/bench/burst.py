"""Announced texts → every contact told: the gateway against the minimal script, on a modem that answers at once."""

import time
from statistics import median
from typing import Any

from gateway.simulator import Habits, SimulatedModem
from gateway.simulator.pdus import deliver_pdus
from tests.bench.figure import Figure, Run
from tests.bench.programs import WITHIN_S, at_modem, cpu_s, minimal, serving
from tests.household import RIDGE

CONTACTS = 2
QUIET_S = 1.0
FLOOR = "pyserial, decode, one commit a text, send"
PROMISE = "the same with one commit a message"


def measure(run: Run) -> list[Figure]:
    """The burst's first and last message, and those of single texts: the best of several rounds, taken in turn."""
    texts, rounds, singles = (10, 1, 3) if run.short else (40, 7, 15)
    habits = Habits(capacity={"SM": 100, "ME": 100})
    with (
        at_modem(habits) as one,
        at_modem(habits) as two,
        at_modem(habits) as other,
        minimal(run.place("burst-minimal"), one),
        minimal(run.place("burst-promise"), two, "a commit a message"),
        serving(run.place("burst-ours"), other) as program,
    ):
        bursts = [tuple(_burst(modem, texts, turn) for modem in (one, two, other)) for turn in range(rounds)]
        alone = _singles(one, singles), _singles(other, singles)
        run.notes.append(
            f"burst: {cpu_s(program) * 1000 / rounds / texts:.1f} ms of processor a text with its two messages."
        )
    floor, promise, ours = (
        [min(figures) for figures in zip(*rounds_of, strict=True)] for rounds_of in zip(*bursts, strict=True)
    )
    shared: dict[str, Any] = {"unit": "ms", "floor_is": FLOOR}
    last = f"{texts} texts, last contact told"
    return [
        Figure(what=last, ours=ours[1], floor=floor[1], most=1.5, **shared),
        Figure(what=last, ours=ours[1], floor=promise[1], **shared | {"floor_is": PROMISE}),
        Figure(what=f"{texts} texts, first message handed over", ours=ours[0], floor=floor[0], **shared),
        Figure(what="one text, first message handed over", ours=alone[1][0], floor=alone[0][0], **shared),
        Figure(what="one text, last contact told", ours=alone[1][1], floor=alone[0][1], most_ours=100.0, **shared),
    ]


def _burst(modem: SimulatedModem, texts: int, turn: int) -> list[float]:
    """Milliseconds to the first and to the last message.

    How many there are is not known: a spell that is over before a contact was told of it is one message to them.
    """
    now = modem.network.now()
    said = [f"LINE 1 {('MADE', 'BROKE')[number % 2]} {turn:02}{number:02}" for number in range(texts)]
    pdus = [deliver_pdus(RIDGE, text, now)[0] for text in said]
    count = len(modem.network.outgoing)
    began = time.perf_counter()
    with modem.at_once():
        for pdu in pdus:
            modem.network.deliver_pdu(pdu)
    marks: list[float] = []
    while True:
        try:
            count = len(modem.network.wait_for_outgoing(count + 1, QUIET_S if marks else WITHIN_S))
        except TimeoutError:
            if not marks:
                raise
            return [marks[0], marks[-1]]
        marks.append((time.perf_counter() - began) * 1000)


def _singles(modem: SimulatedModem, texts: int) -> list[float]:
    """The medians of several single texts, each on a gateway that has come to rest."""
    took = []
    for number in range(texts):
        time.sleep(0.3)
        took.append(single(modem, number))
    return [median(times) for times in zip(*took, strict=True)]


def single(modem: SimulatedModem, number: int) -> list[float]:
    """Milliseconds until the first and until the last contact was told of one text."""
    before = len(modem.network.outgoing)
    began = time.perf_counter()
    modem.network.deliver(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number + 5000:04}")
    marks = []
    for messages in (1, CONTACTS):
        modem.network.wait_for_outgoing(before + messages, WITHIN_S)
        marks.append((time.perf_counter() - began) * 1000)
    return marks
