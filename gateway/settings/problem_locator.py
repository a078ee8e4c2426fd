"""Problems of the configuration: made at a place of the file, with its line, and shown as a line or as JSON."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from gateway.errors import Problem
from gateway.settings.key_lines import KeyLines, KeyPath

LEAST_LIKENESS = 70
"""How alike (0..100) a near miss must be to be suggested."""


class ProblemLocator:
    """Makes problems at a key of the file, with the line on which it stands."""

    def __init__(self, file: str, key_lines: KeyLines) -> None:
        self.file = file
        self._key_lines = key_lines

    def problem(
        self, path: KeyPath, *, found: object, wrong: str, right: str, suggestion: str | None = None
    ) -> Problem:
        """A mistake, which keeps the configuration from being used."""
        return Problem(
            file=self.file,
            line=self._key_lines.line(path),
            key=dotted_key(path),
            found=str(found),
            wrong=wrong,
            right=right,
            suggestion=suggestion,
        )

    def note(self, path: KeyPath, *, found: object, wrong: str, right: str) -> Problem:
        """An oddity: told, and the gateway starts all the same."""
        return Problem(
            file=self.file,
            line=self._key_lines.line(path),
            key=dotted_key(path),
            found=str(found),
            wrong=wrong,
            right=right,
            warning=True,
        )


def problem_line(problem: Problem) -> str:
    """`gateway.toml:12: site.timezon: unknown key; did you mean "timezone"?`"""
    guess = f'; did you mean "{problem.suggestion}"?' if problem.suggestion else ""
    right = f"; {problem.right}" if problem.right and not guess else ""
    where = f"{problem.file}:{problem.line}: " if problem.line else f"{problem.file}: "
    key = f"{problem.key}: " if problem.key else ""
    kind = "note: " if problem.warning else ""
    return f"{where}{kind}{key}{problem.wrong}{guess}{right}"


def problem_json(problem: Problem) -> dict[str, Any]:
    """A problem as JSON: its fields as they are named."""
    return asdict(problem)


def dotted_key(path: KeyPath) -> str:
    """`("tanks", 0, "id")` → `tanks[0].id`."""
    key = ""
    for step in path:
        key += f"[{step}]" if isinstance(step, int) else f".{step}" if key else step
    return key


def nearest_word(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant; None where nothing is like it."""
    # imported only here: 28 ms and 4 MB (measured), for a mistake in the file
    from rapidfuzz.fuzz import ratio
    from rapidfuzz.process import extractOne

    match = extractOne(word, list(known), scorer=ratio, score_cutoff=LEAST_LIKENESS)
    return None if match is None else str(match[0])
