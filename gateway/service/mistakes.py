"""A mistake of ours, caught in the loop → one line, and whether it is new enough to be an event.

The log has each (rate-limited); the history has the same mistake once an hour, so that a loop of errors fills no card.
"""

import traceback

EVERY_S, MOST = 3600.0, 50


def mistake_said(broken: BaseException) -> str:
    """What, and where."""
    frames = traceback.extract_tb(broken.__traceback__)
    where = f" ({frames[-1].name}, line {frames[-1].lineno})" if frames else ""
    return f"{type(broken).__name__}: {broken}{where}"


class Mistakes:
    """Which mistakes were put on record lately."""

    def __init__(self) -> None:
        self._last_s: dict[str, float] = {}

    def is_new(self, said: str, now_s: float) -> bool:
        """Whether it was not put on record within the hour; it counts as put now."""
        if now_s - self._last_s.get(said, float("-inf")) < EVERY_S:
            return False
        if len(self._last_s) >= MOST:
            self._last_s.clear()
        self._last_s[said] = now_s
        return True
