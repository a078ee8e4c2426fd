"""The SIM cards that the chain hangs on → until when each is good: by its date, or by when it must have sent something.

Whose card it is tells its name or id: a controller's has the controller's name or id in it (`ridge-sim`), and was used when the controller
was last heard; any other is the gateway's own, which is used with every message.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from gateway.ports import Reader
from gateway.settings.controller_tables import Controller
from gateway.settings.models import Sim
from gateway.site import Site

TOLD_BEFORE_DAYS = (30, 7, 1)
"""So many days before; and once more when it is past."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardUntil:
    """`on`: the last day on which the card is good; `days_left` below nought: it is past. `why`: its date, or that it was not used."""

    card: Sim
    why: Literal["expires", "use"]
    on: date
    days_left: int

    @property
    def words(self) -> str:
        """What must be by `on`: `is good until`."""
        return "is good until" if self.why == "expires" else "must send something by"

    @property
    def step(self) -> int | None:
        """The last of the days that it has reached (30, 7, 1, 0 once it is past); None: there is time."""
        if self.days_left < 0:
            return 0
        return min((days for days in TOLD_BEFORE_DAYS if self.days_left <= days), default=None)


def cards_until(reader: Reader, site: Site, now: datetime) -> Iterator[CardUntil]:
    """Every card that has an end, in the order of the file; one that was never used yet is not known to have one by use."""
    today = now.astimezone(site.zone).date()
    for card in site.settings.sims:
        if card.expires is not None:
            yield CardUntil(card=card, why="expires", on=card.expires, days_left=(card.expires - today).days)
        used = last_used(reader, site, card)
        if card.use_every is not None and used is not None:
            on = (used + card.use_every).astimezone(site.zone).date()
            yield CardUntil(card=card, why="use", on=on, days_left=(on - today).days)


def last_used(reader: Reader, site: Site, card: Sim) -> datetime | None:
    """When it sent something last, as far as it is known here."""
    controller = owner(site, card)
    if controller is not None:
        return reader.last_heard(controller.id)
    return max((at for at, _ in reader.last_handed(1)), default=None)


def owner(site: Site, card: Sim) -> Controller | None:
    """The controller in which it is; None: it is the gateway's own."""
    words = {card.id.casefold(), *card.id.casefold().replace("_", "-").split("-")}
    name = card.name.casefold()
    boxes = site.settings.controllers
    return next((box for box in boxes if box.id.casefold() in words or box.name.casefold() in name), None)
