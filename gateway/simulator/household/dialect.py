"""A controller's rules → the texts it would send: its own dialect, filled in.

What no rule can read is not sent: a float whose idle state no rule names is never heard to be over, as it would be at home.
A rule written as `regex` is turned into a text only where it is made of plain words and the named groups.
"""

import random
from collections.abc import Iterator
from datetime import datetime

import regex

from gateway.facts import Reading, input_key
from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.rules.template import Field, Gap, Star, Word, parse_template
from gateway.settings.controller_tables import Controller, RuleTable

_GROUP = regex.compile(r"\(\?P<(\w+)>(?:[^()]|\\.)*\)")
_ESCAPED = regex.compile(r"\\([^\w\s])")


class Dialect:
    """What one controller says. Every text it gives was read back by its own rules."""

    def __init__(self, controller: Controller, rng: random.Random) -> None:
        self._controller = controller
        self._book: Rulebook = compile_rulebook(controller.rules)
        self._rng = rng

    def switched(self, input: int | str, *, active: bool, at: datetime) -> str | None:
        """The text of a float that switched; None: no rule can say it."""
        state = "active" if active else "idle"
        for rule in self._controller.rules:
            if rule.means != "input":
                continue
            words = (rule.active if active else rule.idle) or ("",)
            for word in words:
                text = self._filled(rule, {"input": str(input), "state": word}, at)
                if text is not None and self._says(text, input, state):
                    return text
        return None

    def level(self, input: int | str, reading: float, at: datetime) -> str | None:
        """The text of a gauge; None: no rule can say it."""
        for rule in self._controller.rules:
            if rule.means == "level":
                text = self._filled(rule, {"input": str(input), "level": f"{reading:.2f}", "volts": "12.6"}, at)
                if text is not None and any(
                    read.means == "level" and read.input == input_key(input) for read in self._book.read(text).readings
                ):
                    return text
        return None

    def sign_of_life(self, volts: float, at: datetime) -> str | None:
        """A text that only says that it is there, with the voltage where a rule reads it; None: it has none."""
        bare = next((text for text in self._of("alive", at, volts)), None)
        reading = next((text for text in self._of("reading", at, volts)), None)
        if bare is not None and reading is not None:
            both = f"{bare} {reading}"
            return both if _kinds(self._book, both) >= {"alive", "reading"} else bare
        return bare or reading

    def power(self, *, lost: bool, at: datetime) -> str | None:
        """Its supply went or came; None: it does not tell."""
        return next(self._of("power-lost" if lost else "power-back", at, 12.0), None)

    def _of(self, means: str, at: datetime, volts: float) -> Iterator[str]:
        values = {"volts": f"{volts:.1f}", "percent": "80", "celsius": "18", "signal": "17", "word": "ok"}
        for rule in self._controller.rules:
            if rule.means == means:
                text = self._filled(rule, values, at)
                if text is not None and means in _kinds(self._book, text):
                    yield text

    def _filled(self, rule: RuleTable, values: dict[str, str], at: datetime) -> str | None:
        clock = f"{at:%H%M}"
        if rule.text is not None:
            return "".join(_piece_text(piece, values, clock) for piece in parse_template(rule.text)).strip()
        if rule.regex is None:
            return None
        plain = _GROUP.sub(lambda group: values.get(group[1], clock), rule.regex)
        plain = _ESCAPED.sub(r"\1", plain.replace(r"\s+", " ").replace(r"\s*", " ").replace(".*", clock))
        return str(plain).strip("^$ ")

    def _says(self, text: str, input: int | str, state: str) -> bool:
        return any(
            reading.means == "input"
            and reading.state == state
            and reading.input is not None
            and input_key(reading.input) == input_key(input)
            for reading in self._book.read(text).readings
        )


def _piece_text(piece: Word | Gap | Star | Field, values: dict[str, str], clock: str) -> str:
    match piece:
        case Word():
            return piece.text
        case Gap():
            return " "
        case Star():
            return clock
        case Field():
            return values.get(piece.name, clock)


def _kinds(book: Rulebook, text: str) -> set[str]:
    readings: tuple[Reading, ...] = book.read(text).readings
    return {reading.means for reading in readings}
