"""What goes wrong, when, and what ends it: the stories one can ask for, and what happens anyway.

How often things go wrong by themselves is an assumption, said in the summary: an intake that clogs about three times a year.
"""

import random
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

TroubleKind = Literal["supply-stopped", "dry-spell", "blocked-between", "leak", "box-dead", "winter", "float-stuck"]
STORIES: dict[str, TroubleKind] = {
    "dry-spell": "dry-spell",
    "leak": "leak",
    "blocked-pipe": "blocked-between",
    "pump-stops": "supply-stopped",
    "box-dies": "box-dead",
    "winter": "winter",
    "float-sticks": "float-stuck",
}
CAUSE_OF: dict[TroubleKind, str] = {
    "supply-stopped": "supply-stopped",
    "dry-spell": "supply-stopped",
    "winter": "supply-stopped",
    "blocked-between": "blocked-between",
    "leak": "heavy-draw",
    "float-stuck": "float-fault",
}
"""What the gateway should say of it."""
ENDS_BY_ITSELF: dict[TroubleKind, timedelta] = {"dry-spell": timedelta(days=40), "winter": timedelta(days=30)}
CLOGS_EVERY_DAYS = 120.0
STORY_EVERY_DAYS = 60.0
SETTLES_FOR = timedelta(days=3)
"""Nothing goes wrong before, and so long between two."""


@dataclass(slots=True, kw_only=True)
class Trouble:
    """One trouble. `ended` None while it lasts; `size`: of a leak in times the mean use, day and night or (a hose, guests) `by_hours` of use."""

    kind: TroubleKind
    began: datetime
    ended: datetime | None = None
    size: float = 0.0
    by_hours: bool = False

    def lasts(self, at: datetime) -> bool:
        """Whether it is at work."""
        return self.began <= at and (self.ended is None or at < self.ended)


def planned(rng: random.Random, start: datetime, days: float, stories: tuple[str, ...]) -> list[Trouble]:
    """The troubles of a time, oldest first: each story at least once (about every sixty days), and what happens anyway."""
    begins: list[tuple[float, TroubleKind]] = []
    for story in stories:
        count = max(1, round(days / STORY_EVERY_DAYS / len(stories)))
        part = (days - SETTLES_FOR / timedelta(days=1)) / count
        for number in range(count):
            earliest = SETTLES_FOR / timedelta(days=1) + part * number
            begins.append((earliest + rng.uniform(0.05, 0.4) * part, STORIES[story]))
    if not stories:
        at = SETTLES_FOR / timedelta(days=1) + rng.expovariate(1 / CLOGS_EVERY_DAYS)
        while at < days:
            begins.append((at, "supply-stopped"))
            at += 10 + rng.expovariate(1 / CLOGS_EVERY_DAYS)
    troubles = []
    for after_days, kind in sorted(begins):
        began = start + timedelta(days=after_days)
        ended = began + ENDS_BY_ITSELF[kind] if kind in ENDS_BY_ITSELF else None
        size = rng.uniform(3, 7) if kind == "leak" else 0.0
        troubles.append(Trouble(kind=kind, began=began, ended=ended, size=size))
    return troubles
