"""What the daemon says: to people, one plain line a matter; of itself, at debug, one line a decision. Never a storm.

Of itself it says a stable action word and its fields, with numbers shortened: `action=stored memory=SM slot=3`. The same is written at
most `BURST` times in a minute; what was left out is counted in one line when the minute is over.
"""

import logging
import os
import re
from collections.abc import Callable

BURST = 30
MINUTE_S = 60.0
DEBUG_VARIABLE = "TANK_GATEWAY_DEBUG"
_NUMBER = re.compile(r"\+?\d{7,15}")
log = logging.getLogger("gateway")


class Journal:
    """The daemon's log."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._minute: dict[str, tuple[float, int]] = {}

    def tell(self, matter: str, said: str) -> None:
        """A line for people; `matter` is only counted by."""
        if self._may(matter, logging.INFO):
            log.info("%s", said)

    def __call__(self, action: str, **fields: object) -> None:
        """The machine's own story, at debug."""
        if log.isEnabledFor(logging.DEBUG) and self._may(action, logging.DEBUG):
            said = " ".join(f"{name}={_short(value)}" for name, value in fields.items() if value is not None)
            log.debug("action=%s %s", action, said)

    def _may(self, action: str, level: int) -> bool:
        """Whether this action was not written too often this minute."""
        start, count = self._minute.get(action, (self._monotonic(), 0))
        if self._monotonic() - start > MINUTE_S:
            if count > BURST:
                log.log(level, "action=%s left_out=%d", action, count - BURST)
            start, count = self._monotonic(), 0
        self._minute[action] = (start, count + 1)
        return count < BURST


def _short(value: object) -> str:
    said = _NUMBER.sub(lambda found: f"...{found[0][-3:]}", str(value))
    return repr(said) if " " in said or "\n" in said or not said.isprintable() else said


def write_to_stderr() -> None:
    """The log goes to standard error, where systemd picks it up; libraries speak only when something is wrong. With `DEBUG_VARIABLE` in
    the environment the machine's own story is there too."""
    logging.basicConfig(format="%(message)s", level=logging.INFO)
    if os.environ.get(DEBUG_VARIABLE):
        log.setLevel(logging.DEBUG)
    logging.getLogger("alembic").setLevel(logging.WARNING)
