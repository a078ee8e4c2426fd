"""One decision → one log line: a stable action word and its fields, with numbers shortened, and never a storm.

`action=stored memory=SM slot=3`. The same action is written at most `BURST` times in a minute; what was left out is
counted in one line when the minute is over.
"""

import logging
import re
from collections.abc import Callable

BURST = 30
MINUTE_S = 60.0
_NUMBER = re.compile(r"\+?\d{7,15}")
log = logging.getLogger("gateway")


class Journal:
    """The daemon's log."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._minute: dict[str, tuple[float, int]] = {}

    def __call__(self, action: str, **fields: object) -> None:
        """Writes one line, unless this action was written too often this minute."""
        start, count = self._minute.get(action, (self._monotonic(), 0))
        if self._monotonic() - start > MINUTE_S:
            if count > BURST:
                log.info("action=%s left_out=%d", action, count - BURST)
            start, count = self._monotonic(), 0
        self._minute[action] = (start, count + 1)
        if count < BURST:
            said = " ".join(f"{name}={_short(value)}" for name, value in fields.items() if value is not None)
            log.info("action=%s %s", action, said)


def _short(value: object) -> str:
    said = _NUMBER.sub(lambda found: f"...{found[0][-3:]}", str(value))
    return repr(said) if " " in said or "\n" in said or not said.isprintable() else said


def write_to_stderr() -> None:
    """The log goes to standard error, where systemd picks it up; libraries speak only when something is wrong."""
    logging.basicConfig(format="%(message)s", level=logging.INFO)
    logging.getLogger("alembic").setLevel(logging.WARNING)
