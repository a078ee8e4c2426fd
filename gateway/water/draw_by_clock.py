"""How many of a household's leaks, hoses and gardens run by the clock, day and night, and not by its hours: learnt from each that is over.

A beta on a few points. What an episode says of it is a likelihood, not a count: one leak in ten that cannot be told from a hose moves nothing.
Source: Gelman et al., BDA3 §2.4, from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass

BY_CLOCK, CASES = 0.6, 3.0
"""A leak or a hose forgotten runs day and night; a garden or guests by the hours (an assumption: either is common); worth so many cases."""
SHARES = (0.03, 0.2, 0.4, 0.6, 0.8, 0.97)


def _normed(weights: Sequence[float]) -> tuple[float, ...]:
    total = sum(weights)
    return tuple(weight / total for weight in weights)


def _prior() -> tuple[float, ...]:
    by_clock, by_hours = CASES * BY_CLOCK - 1, CASES * (1 - BY_CLOCK) - 1
    return _normed([share**by_clock * (1 - share) ** by_hours for share in SHARES])


@dataclass(frozen=True, slots=True)
class DrawByClock:
    """How likely each of `SHARES` is."""

    weights: tuple[float, ...] = _prior()

    @property
    def share(self) -> float:
        """How likely the next one goes by the clock."""
        return sum(weight * share for weight, share in zip(self.weights, SHARES, strict=True))

    def after(self, cut: float, by_clock: float, by_hours: float) -> "DrawByClock":
        """What is thought once an episode is over, of which so much was believed: a cut, a draw by the clock, one by the hours."""
        said_by_clock, said_by_hours = by_clock / self.share, by_hours / (1 - self.share)
        return DrawByClock(
            _normed(
                [
                    weight * (cut + share * said_by_clock + (1 - share) * said_by_hours)
                    for weight, share in zip(self.weights, SHARES, strict=True)
                ]
            )
        )
