"""What each explanation saw of the use in an episode that is over → the household's usual use after it, and how its days differ.

Moments are matched after each episode (assumed density filtering). Source: Gelman et al., BDA3 §2.6 and 5, from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from gateway.water.evidence import Weighed
from gateway.water.use_belief import DRIFT_SD, SHIFT_SD, SHIFTED, Component, UseBelief, mixture_of

MOST_SQUARE = 6.0
"""One case far off is a shift, not a household whose days differ."""
LEAST_SCATTER, MOST_SCATTER = 0.5, 1.6


def use_after(use: UseBelief, weighed: Sequence[Weighed]) -> UseBelief:
    """The household's usual use after an episode: each of its normals moved by what each explanation saw, moments matched."""
    moved: list[list[Component]] = [[] for _ in use.usual]
    still = 1.0
    for candidate in weighed:
        if not candidate.seen or candidate.weight < 1e-3:
            continue
        still -= candidate.weight
        precision = sum(1 / sd**2 for _, sd in candidate.seen)
        ratio = sum(ratio / sd**2 for ratio, sd in candidate.seen) / precision
        after = [_moved(part, ratio, math.sqrt(1 / precision)) for part in use.usual]
        total = sum(new.weight for parts in after for new in parts)
        for number, parts in enumerate(after):
            moved[number].extend(
                replace(new, weight=candidate.weight * new.weight / total) for new in parts if total > 0
            )
    stayed = [
        [*new, replace(part, weight=max(still, 0.0) * part.weight)] for part, new in zip(use.usual, moved, strict=True)
    ]
    scatter, cases = _scatter_after(use, weighed)
    return replace(
        use,
        scatter=scatter,
        scatter_cases=cases,
        usual=mixture_of(stayed, use.usual),
    )


def _scatter_after(use: UseBelief, weighed: Sequence[Weighed]) -> tuple[float, float]:
    """How days differ: each ratio that was seen, against how far off it might have been (a scaled inverse chi-squared, as it moves)."""
    squares, cases = use.scatter**2 * use.scatter_cases, use.scatter_cases
    for candidate in weighed:
        for ratio, sd in candidate.seen:
            off = min((ratio - use.mean) ** 2 / (sd**2 + use.sd**2 + DRIFT_SD**2), MOST_SQUARE)
            squares, cases = squares + candidate.weight * use.scatter**2 * off, cases + candidate.weight
    return min(max(math.sqrt(squares / cases), LEAST_SCATTER), MOST_SCATTER), cases


def _moved(part: Component, ratio: float, noise: float) -> list[Component]:
    """One normal after a ratio seen in an episode, that was as usual or quite different."""
    found = []
    for share, drift in ((1 - SHIFTED, DRIFT_SD), (SHIFTED, SHIFT_SD)):
        seen_sd = math.hypot(noise, drift)
        spread = math.hypot(part.sd, seen_sd)
        gain = part.sd**2 / spread**2
        likely = part.weight * share * math.exp(-0.5 * ((ratio - part.mean) / spread) ** 2) / spread
        mean, sd = part.mean + gain * (ratio - part.mean), part.sd * math.sqrt(1 - gain)
        found.append(Component(weight=likely, mean=mean, sd=sd))
    return found
