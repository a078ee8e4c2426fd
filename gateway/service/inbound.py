"""What the modem listed and freed → the store, in the order in which it was said.

Texts are taken some at a time, so that answers are heard and messages leave in between. That a slot is free is stored after what was
listed before it, and before what was listed since: a text without a network stamp is known again by its slot alone. So a slot that
could not be noted as free, because the store failed, comes first when it works again. What waits already and is listed again waits once.
"""

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from functools import partial

from gateway.errors import StoreTrouble
from gateway.facts import Delivered, HeldPdu
from gateway.handlers import deliver, gateway_life
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox.text_time import OLDEST_STAMP
from gateway.ports import Listed, SendEnded, SlotFreed
from gateway.service.error_boundary import Within
from gateway.service.journal import Journal

TEXTS_A_COMMIT = 10
Place = tuple[str, int | None, str]


class InboundQueue:
    """In the order of the news. `swept`: once everything of a complete sweep was stored."""

    def __init__(self) -> None:
        self._waiting: deque[HeldPdu | SlotFreed] = deque()
        self._places: set[Place] = set()
        self._not_noted: dict[tuple[str, int | None], SlotFreed] = {}
        self._complete = False
        self._commits_owed = 0
        self.swept = False

    def __bool__(self) -> bool:
        return bool(self._waiting)

    def add(self, news: Listed | SlotFreed) -> None:
        """What the modem said."""
        if isinstance(news, SlotFreed):
            # From here on the same octets in the same slot are another text.
            self._places.discard(_place(news.held))
            self._waiting.append(news)
            return
        if not self._waiting:
            # A new sweep begins; of one before it something may have failed to be stored, and that one no longer counts.
            self._complete, self._commits_owed = False, 0
        self._waiting.extend(held for held in _as_sent(news.held) if _place(held) not in self._places)
        self._places |= {_place(held) for held in news.held if held.slot is not None}
        self._complete = self._complete or news.complete
        self._note_if_swept()

    def next_freed(self) -> list[SlotFreed]:
        """The slots that are next to be noted as free."""
        freed, self._not_noted = [*self._not_noted.values()], {}
        while self._waiting and isinstance(self._waiting[0], SlotFreed):
            freed.append(self._waiting[0])
            self._waiting.popleft()
        self._note_if_swept()
        return freed

    def not_noted(self, freed: Sequence[SlotFreed]) -> None:
        """The store failed. A slot is kept once, however often it was freed since: there are never more than the modem has."""
        self._not_noted = {(slot.held.memory, slot.held.slot): slot for slot in freed if slot.done}

    def next_texts(self) -> Listed | None:
        """The next few texts; owed until they are `stored`."""
        texts: list[HeldPdu] = []
        while self._waiting and len(texts) < TEXTS_A_COMMIT and isinstance(self._waiting[0], HeldPdu):
            texts.append(self._waiting[0])
            self._waiting.popleft()
        if not texts:
            return None
        self._places -= set(map(_place, texts))
        self._commits_owed += 1
        return Listed(held=tuple(texts))

    def stored(self, texts: Listed, count: int) -> None:
        """The first `count` of them are on the disk, the others are next. What could not be stored stays with the modem, and the next
        sweep finds it."""
        self._commits_owed -= 1
        others = texts.held[count:]
        self._waiting.extendleft(reversed(others))
        self._places |= {_place(held) for held in others if held.slot is not None}
        self._note_if_swept()

    def all_waiting(self) -> list[Listed | SlotFreed]:
        """Whatever is not on the disk yet."""
        waiting = (item if isinstance(item, SlotFreed) else Listed(held=(item,)) for item in self._waiting)
        return [*self._not_noted.values(), *waiting]

    def _note_if_swept(self) -> None:
        self.swept = self.swept or (self._complete and not self._waiting and not self._commits_owed)


def _as_sent(held: Sequence[HeldPdu]) -> list[HeldPdu]:
    """What was listed, each sender's texts in the order of their stamps: a new text takes the lowest free slot, before older ones.

    Texts of one listing have no order of arrival but that; where a stamp is missing, or one is absurd, it is left as it was.
    """
    places: dict[str, list[int]] = {}
    for place, each in enumerate(held):
        if isinstance(each.content, Delivered):
            places.setdefault(each.content.sender, []).append(place)
    ordered = list(held)
    for mine in places.values():
        stamps = {place: stamp for place in mine if (stamp := _stamp(held[place])) is not None}
        if len(stamps) == len(mine) and max(stamps.values()) - min(stamps.values()) <= OLDEST_STAMP:
            for place, source in zip(mine, sorted(mine, key=stamps.__getitem__), strict=True):
                ordered[place] = held[source]
    return ordered


def _stamp(held: HeldPdu) -> datetime | None:
    return held.content.stamp if isinstance(held.content, Delivered) else None


def _place(held: HeldPdu) -> Place:
    return held.memory, held.slot, held.pdu


def note_slots_freed(within: Within, journal: Journal, freed: Sequence[SlotFreed]) -> bool:
    """On record in one commit, each in the journal."""
    slots = [(slot.held.memory, slot.held.slot) for slot in freed if slot.done]
    if slots:
        within(lambda unit: unit.tx.slots_freed(slots))
    for slot in freed:
        action = "freed" if slot.done else "not-freed"
        journal(action, memory=slot.held.memory, slot=slot.held.slot, said=slot.said or None)
    return True


def keep_last_news(
    news: Iterable[object], within: Within, journal: Journal, receive: Callable[[HeldPdu], object]
) -> None:
    """What the modem said last → on record, before the daemon ends: how messages ended, which slots are free, what stands in no slot.

    A message that left is not sent again after the next start, a text that comes into a slot that was freed is no old one, and what the
    modem showed without keeping it nobody else has. In the order in which it was said, free slots after all else; then that the gateway
    stopped. Each is stored by itself; a store that fails costs neither the end nor the others.
    """
    work: list[Callable[[], object]] = []
    slots: list[tuple[str, int | None]] = []
    for item in news:
        match item:
            case SendEnded() if item.job > 0:
                work.append(partial(within, partial(deliver.message_ended, end=item)))
            case Listed():
                work += [partial(receive, held) for held in item.held if held.slot is None]
            case SlotFreed(done=True):
                slots.append((item.held.memory, item.held.slot))
    work += [partial(within, partial(_free_slots, slots=slots)), partial(within, gateway_life.stopped)]
    for step in work:
        try:
            step()
        except StoreTrouble as trouble:
            journal("store-trouble", said=trouble.said)


def _free_slots(unit: UnitOfWork, *, slots: list[tuple[str, int | None]]) -> None:
    unit.tx.slots_freed(slots)
