"""Events, oldest first → which of them end a low spell that teaches: each trouble once, with the tank that it reached last."""

from copy import copy
from datetime import datetime
from typing import Protocol

from gateway.settings.models import Settings


class Happened(Protocol):
    """As much of an event as is learnt from."""

    @property
    def kind(self) -> str: ...
    @property
    def tank(self) -> str | None: ...
    @property
    def at(self) -> datetime: ...


class LowSpells:
    """What it was shown so far; a tank below that is low still, or well again since, has the trouble for both."""

    def __init__(self, settings: Settings) -> None:
        self._low = dict[str, datetime]()
        self._ended = dict[str, datetime]()
        self._below = {
            tank.id: [lower.id for lower in settings.tanks if tank.id in lower.fed_by] for tank in settings.tanks
        }

    def is_end(self, event: Happened) -> bool:
        """Events are shown oldest first, each once."""
        tank = event.tank
        if tank is None or tank not in self._below:
            return False
        if event.kind == "low":
            self._low[tank] = event.at
        if event.kind not in ("low-over", "low-over-said", "low-over-reckoned"):
            return False
        began = self._low.pop(tank, None)
        if event.kind != "low-over" or began is None:
            return False
        self._ended[tank] = event.at
        return not any(lower in self._low or self._is_well_since(lower, began) for lower in self._below[tank])

    def copy(self) -> "LowSpells":
        other = copy(self)
        other._low, other._ended = dict(self._low), dict(self._ended)
        return other

    def _is_well_since(self, tank: str, began: datetime) -> bool:
        return tank in self._ended and self._ended[tank] > began
