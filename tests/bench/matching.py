"""A text → its rule, with 5, 50 and 500 rules in the book: the work must not grow with them, hostile text included."""

import time
from statistics import median

from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.settings.controller_tables import RuleTable
from tests.bench.figure import Figure, Run

SIZES = (5, 50, 500)
ENDINGS = ("by day", "by night", "at dawn")
"""No text twice in a row, and no number that would call for one rule more."""
TEXTS = {
    "a text that a rule reads": "STATION 3 WELL ALL QUIET",
    "a text that no rule reads": "HELLO FROM THE RIDGE, NOTHING OF NOTE TODAY",
    "a hostile text": "STATION " * 19,
}


def measure(run: Run) -> list[Figure]:
    """Per text, the largest book against the smallest."""
    rounds = 50 if run.short else 1000
    books = {size: _book(size) for size in SIZES}
    figures = []
    for what, text in TEXTS.items():
        took = {size: _took(books[size], text, rounds) for size in SIZES}
        figures.append(
            Figure(
                what=f"{what}, {SIZES[-1]} rules ({SIZES[1]}: {took[SIZES[1]]:.0f} µs)",
                ours=took[SIZES[-1]],
                floor=took[SIZES[0]],
                unit="µs",
                most=1.5,
                floor_is=f"the same with {SIZES[0]} rules",
            )
        )
    return figures


def _book(size: int) -> Rulebook:
    """Rules as boxes have them: numbered inputs, signs of life, one reading anywhere."""
    own = [
        {"text": "STATION {word} WELL *", "means": "alive"},
        {"text": "SUPPLY {volts} V", "means": "reading", "scope": "anywhere"},
    ]
    own += [
        {"text": f"LINE{number} {{state}} *", "means": "input", "input": number, "active": ["MADE"], "idle": ["BROKE"]}
        for number in range(size - len(own))
    ]
    return compile_rulebook([RuleTable.model_validate(table) for table in own])


def _took(book: Rulebook, text: str, rounds: int) -> float:
    times = []
    for number in range(rounds):
        said = f"{text} {ENDINGS[number % len(ENDINGS)]}"
        began = time.perf_counter()
        book.read(said)
        times.append(time.perf_counter() - began)
    return median(times) * 1e6
