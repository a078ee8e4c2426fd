"""What goes wrong with the board's clock while a household is lived through: it is set, it begins in 1970, the board sleeps and wakes late."""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

from gateway.simulator.virtual_clock import VirtualClock

ClockTrouble = Literal["steps", "starts-1970", "wakes-late"]
CLOCK_TROUBLES: tuple[ClockTrouble, ...] = ("steps", "starts-1970", "wakes-late")
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
"""What a board without a clock battery believes until it is told better."""
TOLD_BETTER_AFTER = timedelta(days=2)
STEPS = (timedelta(days=-2), timedelta(days=400), timedelta(hours=-1), timedelta(minutes=10), timedelta(hours=5))
STEP_EVERY_DAYS, SLEEP_EVERY_DAYS = 10.0, 4.0
SLEEPS_H = (0.5, 9.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockFault:
    """At that true time the clock is set wrong by so much (`step`), set right, or the board sleeps for so long (`suspend`)."""

    at: datetime
    does: Literal["step", "right", "suspend"]
    by: timedelta = timedelta(0)

    def befalls(self, clock: VirtualClock) -> None:
        """It happens to this clock."""
        if self.does == "suspend":
            clock.suspend(self.by)
        elif self.does == "step":
            clock.step(self.by)
        else:
            clock.set_right()


def planned_faults(troubles: Sequence[str], start: datetime, days: float, seed: int) -> list[ClockFault]:
    """The faults of a time, oldest first."""
    rng = random.Random(f"{seed} clock")
    faults: list[ClockFault] = []
    if "starts-1970" in troubles:
        faults.append(ClockFault(at=start, does="step", by=EPOCH - start))
        faults.append(ClockFault(at=start + TOLD_BETTER_AFTER, does="right"))
    if "steps" in troubles:
        at = start + TOLD_BETTER_AFTER
        for number in range(int(days / STEP_EVERY_DAYS)):
            at += timedelta(days=rng.uniform(0.5, 1.0) * STEP_EVERY_DAYS)
            faults.append(ClockFault(at=at, does="step", by=STEPS[number % len(STEPS)]))
            faults.append(ClockFault(at=at + timedelta(hours=rng.uniform(1, 30)), does="right"))
    if "wakes-late" in troubles:
        at = start
        for _ in range(int(days / SLEEP_EVERY_DAYS)):
            at += timedelta(days=rng.uniform(0.5, 1.0) * SLEEP_EVERY_DAYS)
            faults.append(ClockFault(at=at, does="suspend", by=timedelta(hours=rng.uniform(*SLEEPS_H))))
    return sorted(faults, key=lambda fault: fault.at)
