"""A clock that stands still until it is moved; wall and monotonic time can part, as they do when a clock is set."""

from datetime import UTC, datetime, timedelta

START = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
NO_TIME = timedelta(0)


class FakeClock:
    """Implements `gateway.ports.Clock`."""

    def __init__(self, wall: datetime = START, monotonic: float = 1000.0, *, a_look_takes: timedelta = NO_TIME) -> None:
        self._wall, self._monotonic, self._a_look_takes = wall, monotonic, a_look_takes
        self.follows_a_server = False

    def now(self) -> datetime:
        """Aware, UTC; a little later at each look, where a look takes its time as it does on every real clock."""
        self.advance(self._a_look_takes)
        return self._wall

    def monotonic(self) -> float:
        """Seconds; never goes back."""
        return self._monotonic

    def synchronised(self) -> bool:
        """As it is told."""
        return self.follows_a_server

    def advance(self, by: timedelta | float) -> datetime:
        """Time passes: both move. Seconds, or a timedelta; never negative."""
        passed = by if isinstance(by, timedelta) else timedelta(seconds=by)
        if passed < timedelta(0):
            raise ValueError("time does not pass backwards; use step()")
        self._wall += passed
        self._monotonic += passed.total_seconds()
        return self._wall

    def step(self, by: timedelta | float) -> datetime:
        """Somebody sets the clock: only the wall moves, either way."""
        self._wall += by if isinstance(by, timedelta) else timedelta(seconds=by)
        return self._wall

    def set(self, wall: datetime) -> datetime:
        """The wall clock shows this; monotonic time is as it was."""
        if wall.tzinfo is None:
            raise ValueError("an aware time was expected")
        self._wall = wall.astimezone(UTC)
        return self._wall

    def reboot(self, wall: datetime | None = None) -> None:
        """The board starts again: monotonic time from 0; the wall as given (a board without a battery wakes in 1970)."""
        self._monotonic = 0.0
        if wall is not None:
            self.set(wall)
