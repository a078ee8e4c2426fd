"""What was foretold, held against what then happened → coverage, width, factor, mean pinball loss and causes right, with bootstrap intervals."""

import random
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

LEVELS = (0.1, 0.5, 0.9)
RESAMPLED = 400


@dataclass(frozen=True, slots=True)
class Forecast:
    """Hours from the switch: the early edge, the likely time, the late edge, and the truth."""

    early: float
    likely: float
    late: float
    true: float

    @property
    def inside(self) -> bool:
        """Whether the truth lies between the edges."""
        return self.early <= self.true <= self.late

    @property
    def factor(self) -> float:
        """By how much the likely time was off."""
        if self.likely <= 0 or self.true <= 0:
            return 10.0
        return max(self.likely / self.true, self.true / self.likely)

    @property
    def width(self) -> float:
        """Late over early."""
        return self.late / max(self.early, 1 / 60)

    @property
    def pinball(self) -> float:
        """Mean pinball loss of the three quantiles, over the truth (Koenker and Bassett 1978)."""
        edges = zip((self.early, self.likely, self.late), LEVELS, strict=True)
        return statistics.fmean(pinball(self.true, edge, level) for edge, level in edges) / max(self.true, 1 / 60)


def pinball(true: float, said: float, level: float) -> float:
    """The loss of a quantile: its level for what is above it, the rest for what is below."""
    return level * (true - said) if true >= said else (1 - level) * (said - true)


def forecast(times: Sequence[datetime], at: datetime, true: datetime) -> Forecast:
    """Of three times told at a time, and the one that came true."""
    early, likely, late, came = ((when - at).total_seconds() / 3600 for when in (*times, true))
    return Forecast(early, likely, late, came)


@dataclass(slots=True)
class Score:
    """What was measured; `named`: what the trouble was and what was said of it."""

    dry: list[Forecast] = field(default_factory=list)
    full: list[Forecast] = field(default_factory=list)
    named: list[tuple[str, str]] = field(default_factory=list)

    def add(self, other: "Score") -> None:
        """Both together."""
        self.dry.extend(other.dry)
        self.full.extend(other.full)
        self.named.extend(other.named)

    @property
    def told(self) -> list[bool]:
        """Of the causes that were told at all, whether they were right."""
        return [true == said for true, said in self.named if said != "unclear"]


def share(seen: Sequence[bool]) -> float:
    """Share that is true."""
    return sum(seen) / len(seen) if seen else float("nan")


def between(values: Sequence[float], figure: Callable[[Sequence[float]], float]) -> str:
    """The figure with an 80 % bootstrap interval (Efron 1979), always from the same draws."""
    if not values:
        return "-"
    rng = random.Random(len(values))
    again = sorted(figure(rng.choices(values, k=len(values))) for _ in range(RESAMPLED))
    return f"{figure(values):.3f} ({again[RESAMPLED // 10]:.3f}-{again[-RESAMPLED // 10]:.3f})"


def table(scores: dict[str, Score]) -> str:
    """A Markdown table."""
    lines = [
        "| supply | episodes | dry inside 80 % | factor | late/early | pinball | full inside | factor | causes right | unclear |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    total = Score()
    for score in scores.values():
        total.add(score)
    for name, score in [*scores.items(), ("all", total)]:
        dry, full = score.dry, score.full
        lines.append(
            f"| {name} | {len(dry)} | {_percent([score.inside for score in dry])} | {_median([score.factor for score in dry])} | "
            f"{_median([score.width for score in dry])} | {between([score.pinball for score in dry], statistics.fmean)} | "
            f"{_percent([score.inside for score in full])} | {_median([score.factor for score in full])} | "
            f"{_percent(score.told)} | {_percent([said == 'unclear' for _, said in score.named])} |"
        )
    return "\n".join(lines) + "\n"


def _percent(seen: Sequence[bool]) -> str:
    return f"{share(seen):.0%}" if seen else "-"


def _median(values: Sequence[float]) -> str:
    return f"{statistics.median(values):.2f}" if values else "-"
