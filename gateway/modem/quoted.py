"""Lines as they were cut → lines as they were meant: what stands in quotes may run over several (an answer to AT+CUSD).

A quote that is never closed is given up at the next thing a modem says of itself, and after a few lines at the latest.
"""

import re

OPENS = "+CUSD:"
ENDS_IT = re.compile(r"^(OK|ERROR|NO CARRIER|RDY)$|^\+C[A-Z]{2,}:|^\+(CME|CMS) ERROR")
MOST_LINES = 12


class Quoted:
    """Remembers an open quote between two reads."""

    def __init__(self) -> None:
        self._open: list[str] = []

    def take(self, line: str) -> list[str]:
        """The whole lines that this one completes."""
        if not self._open:
            if line.startswith(OPENS) and line.count('"') % 2:
                self._open = [line]
                return []
            return [line]
        if ENDS_IT.match(line):
            return [*self._let_go(), line]
        self._open.append(line)
        return self._let_go() if '"' in line or len(self._open) >= MOST_LINES else []

    def _let_go(self) -> list[str]:
        whole, self._open = "\n".join(self._open), []
        return [whole]
