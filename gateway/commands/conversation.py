"""Questions and answers at a terminal. What was answered is kept in a file: a conversation that was left is gone on with, and an answer that
was wrong is taken back."""

import hashlib
import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from gateway.errors import GatewayError

T = TypeVar("T")
UNDO = "undo"


class NotSo(Exception):
    """An answer that cannot be; says what would be right."""


class Left(Exception):
    """Nobody answers any more; what was answered is kept."""


class TakenBack(Exception):
    """The last answer is asked again: the conversation begins anew with the ones before it."""


class Conversation:
    """What was answered before stands in `kept` with its question; it is shown and not asked again, unless another question comes there:
    a file of samples, say, may be another than at the first sitting."""

    def __init__(self, kept: Path, ask: Callable[[str], str] = input) -> None:
        self._kept, self._ask = kept, ask
        self._answered = _answers_in(kept)
        self._next = self._marked = 0
        if self._answered:
            many = sum(answer is not None for _, answer in self._answered)
            print(f"Going on after {many} answers (to begin anew, remove {kept}).")

    def ask(self, question: str, read: Callable[[str], T], *, default: str = "", end: str = ": ") -> T:
        """Asks until the answer can be read. Raises TakenBack or Left."""
        while True:
            self._forget_if_another(question)
            again = self._next < len(self._answered)
            shown = f"{question}{f' [{default}]' if default else ''}{end}"
            if again:
                written = self._answered[self._next][1] or ""
                print(f"{shown}{written}")
            else:
                written = self._answer(shown) or default
            if written.casefold() == UNDO:
                self._forget_from(self._last_answer())
                raise TakenBack
            try:
                value = read(written)
            except NotSo as error:
                del self._answered[self._next :]
                print(f"  {error}")
                continue
            if not again:
                self._answered.append((question, written))
                self._keep()
            self._next += 1
            return value

    def now_about(self, what: str) -> None:
        """What the next questions are about, in words that no sitting shows: where it is another than before, they are asked anew."""
        about = hashlib.sha256(what.encode()).hexdigest()
        self._forget_if_another(about)
        if self._next == len(self._answered):
            self._answered.append((about, None))
            self._keep()
        self._next += 1

    def mark(self) -> None:
        """From here on it may have to be answered otherwise."""
        self._marked = self._next

    def begin_anew_at_mark(self) -> None:
        """What was answered before it stays."""
        self._forget_from(self._marked)

    def _forget_from(self, place: int) -> None:
        del self._answered[place:]
        self._keep()
        self._next = 0

    def _forget_if_another(self, question: str) -> None:
        if self._next < len(self._answered) and self._answered[self._next][0] != question:
            print("  (What was answered from here on was about something else: please answer anew.)")
            del self._answered[self._next :]

    def _last_answer(self) -> int:
        place = self._next - 1
        while place > 0 and self._answered[place][1] is None:
            place -= 1
        return max(0, place)

    def _answer(self, shown: str) -> str:
        try:
            return self._ask(shown).strip()
        except (EOFError, KeyboardInterrupt):
            raise Left from None

    def done(self) -> None:
        """Nothing is to be gone on with."""
        self._kept.unlink(missing_ok=True)

    def _keep(self) -> None:
        """People's numbers are in it."""
        self._kept.touch(0o600)
        self._kept.write_text(json.dumps(self._answered, ensure_ascii=False), "utf-8")


def _answers_in(kept: Path) -> list[tuple[str, str | None]]:
    """Each question with its answer, and what others were about with None."""
    with suppress(FileNotFoundError):
        try:
            answered = json.loads(kept.read_text("utf-8"))
        except ValueError:
            answered = None
        if not isinstance(answered, list) or not all(map(_is_answer, answered)):
            raise GatewayError(f"{kept} does not hold answers as they are kept here; right would be to remove it")
        return [(question, answer) for question, answer in answered]
    return []


def _is_answer(kept: object) -> bool:
    match kept:
        case [str(), str() | None]:
            return True
    return False
