"""What the modem listed and freed and is not on the disk yet, in the order in which it was said.

Texts are taken some at a time, so that answers are heard and messages leave in between. That a slot is free is stored after what was
listed before it, and before what was listed since: a text without a network stamp is known again by its slot alone. So a slot that
could not be noted as free, because the store failed, comes first when it works again. What waits already and is listed again waits once.
"""

from collections import deque
from collections.abc import Sequence

from gateway.facts import HeldPdu
from gateway.ports import Listed, SlotFreed

TEXTS_A_COMMIT = 10
Place = tuple[str, int | None, str]


class Backlog:
    """In the order of the news. `swept`: once everything of a complete sweep was stored."""

    def __init__(self) -> None:
        self._waiting: deque[HeldPdu | SlotFreed] = deque()
        self._places: set[Place] = set()
        self._not_noted: dict[tuple[str, int | None], SlotFreed] = {}
        self._complete = False
        self._owed = 0
        self.swept = False

    def __bool__(self) -> bool:
        return bool(self._waiting)

    def add(self, news: Listed | SlotFreed) -> None:
        """What the modem said."""
        if isinstance(news, SlotFreed):
            self._places.discard(_place(news.held))
            self._waiting.append(news)
            return
        if not self._waiting:
            self._complete, self._owed = False, 0
        self._waiting.extend(one for one in news.held if _place(one) not in self._places)
        self._places |= {_place(one) for one in news.held if one.slot is not None}
        self._complete = self._complete or news.complete
        self._look()

    def freed(self) -> list[SlotFreed]:
        """The slots that are next to be noted as free."""
        found, self._not_noted = [*self._not_noted.values()], {}
        while self._waiting and isinstance(self._waiting[0], SlotFreed):
            found.append(self._waiting[0])
            self._waiting.popleft()
        self._look()
        return found

    def not_noted(self, freed: Sequence[SlotFreed]) -> None:
        """The store failed. A slot is kept once, however often it was freed since: there are never more than the modem has."""
        self._not_noted = {(one.held.memory, one.held.slot): one for one in freed if one.done}

    def rest(self) -> list[Listed | SlotFreed]:
        """Whatever is not on the disk yet."""
        waiting = (one if isinstance(one, SlotFreed) else Listed(held=(one,)) for one in self._waiting)
        return [*self._not_noted.values(), *waiting]

    def some(self) -> Listed | None:
        """The next few texts; owed until they are `stored`."""
        found: list[HeldPdu] = []
        while self._waiting and len(found) < TEXTS_A_COMMIT and isinstance(self._waiting[0], HeldPdu):
            found.append(self._waiting[0])
            self._waiting.popleft()
        if not found:
            return None
        self._places -= set(map(_place, found))
        self._owed += 1
        return Listed(held=tuple(found))

    def stored(self, some: Listed, done: int) -> None:
        """The first `done` of them are on the disk, the others are next. What could not be stored stays with the modem, and the next
        sweep finds it."""
        self._owed -= 1
        rest = some.held[done:]
        self._waiting.extendleft(reversed(rest))
        self._places |= {_place(one) for one in rest if one.slot is not None}
        self._look()

    def _look(self) -> None:
        self.swept = self.swept or (self._complete and not self._waiting and not self._owed)


def _place(held: HeldPdu) -> Place:
    return held.memory, held.slot, held.pdu
