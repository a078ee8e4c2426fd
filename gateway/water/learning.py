"""Past events and the household's own figures → what they teach (`learnt.py`), by the fold over them (`fold_of_events.py`)."""

from collections.abc import Iterable
from datetime import tzinfo

from gateway.facts import EventKind
from gateway.settings.models import Settings
from gateway.water.fold_of_events import FoldOfEvents
from gateway.water.learnt import Learnt
from gateway.water.low_spells import Happened, LowSpells

LEARNT_KINDS: tuple[EventKind, ...] = (
    "low",
    "low-over",
    "high",
    "high-over",
    "low-over-said",
    "low-over-reckoned",
    "high-over-said",
    "high-over-reckoned",
    "ran-dry",
    "float-fault",
    "silent",
    "heard-again",
)
EPISODES = 12
"""So many ends of low spells are weighed: a year or two, and no more work than a slow board has time for."""


class Learner:
    """Asked again, it learns on from where it was: what a low spell taught is weighed once, as long as none is forgotten."""

    def __init__(self) -> None:
        self._told: list[Happened] = []
        self._skipped = 0
        self._fold: FoldOfEvents | None = None

    def learn(self, events: Iterable[Happened], settings: Settings, zone: tzinfo) -> Learnt:
        """The fold over events, oldest first."""
        told = list(events)
        spells = LowSpells(settings)
        skipped = max(0, sum(spells.is_end(event) for event in told) - EPISODES)
        known = len(self._told)
        goes_on = skipped == self._skipped and told[:known] == self._told
        if self._fold is not None and goes_on and self._fold.is_of(settings, zone):
            if len(told) == known:
                return self._fold.learnt
            fold = self._fold.copy()
        else:
            fold, known = FoldOfEvents(settings, zone, skipped), 0
        for event in told[known:]:
            if event.tank in fold.tanks and event.tank is not None:
                fold.take(event, fold.tanks[event.tank])
        self._told, self._skipped, self._fold = told, skipped, fold
        return fold.learnt
