"""What time a message centre, and the board itself, take it for: the soak of makes has each of them in turn."""

import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from gateway.clock import SystemClock

CENTRES = ("right", "whole minutes", "an hour behind", "five hours ahead", "stuck")
"""What the centre takes the time for."""
CLOCKS = ("right", "wakes in 1970", "wakes late", "stepped to and fro")
"""How the board's own clock goes. Makes, centres and clocks are as many as have no divisor in common: each meets each of the others."""
STEPS = (timedelta(hours=1), timedelta(hours=30), timedelta(days=3652))


def centre_time(name: str) -> Callable[[], datetime]:
    """The time by that centre."""
    began = datetime.now(UTC)

    def now() -> datetime:
        true = datetime.now(UTC).replace(microsecond=0)
        match name:
            case "whole minutes":
                return true.replace(second=0)
            case "an hour behind":
                return true - timedelta(hours=1)
            case "five hours ahead":
                return true + timedelta(hours=5)
            case "stuck":
                return began.replace(microsecond=0)
            case _:
                return true

    return now


class WrongClock(SystemClock):
    """The board's clock, wrong in its own way at each start, until somebody sets it right."""

    def __init__(self, kind: str, rng: random.Random) -> None:
        super().__init__()
        self._kind, self._rng, self._off = kind, rng, timedelta(0)

    def now(self) -> datetime:
        """What the board believes."""
        return super().now() + self._off

    def synchronised(self) -> bool:
        """No time server is there."""
        return False

    def board_wakes(self) -> None:
        """Its power was gone."""
        match self._kind:
            case "wakes in 1970":
                self._off = datetime(1970, 1, 1, tzinfo=UTC) - super().now()
            case "wakes late":
                self._off = -timedelta(hours=self._rng.uniform(0.3, 300))

    def fault(self) -> None:
        """It is set: wrongly by one that is stepped, else rightly."""
        stepped = self._kind == "stepped to and fro" and self._rng.random() < 0.7
        self._off = self._rng.choice((-1, 1)) * self._rng.choice(STEPS) if stepped else timedelta(0)

    def set_right(self) -> None:
        """At last."""
        self._off = timedelta(0)
