"""Parts of one text → the whole text, or not yet.

In: the stored parts of one (sender, reference, total). Out: those of them that are one text, once every part of it is there; after their time
`left_over` shows what there is (missing parts marked with "[...]"). A box may number all its texts alike, and parts are lost: so only parts
whose stamps are near each other are one text, and where two could be meant none is taken (fault 63): words of two texts are never one.
Source: 3GPP TS 23.040 9.2.3.24.1 (concatenation by sender, reference, total; any order; doubles ignored).
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from gateway.facts import Text
from gateway.ports import StoredPart

WAIT_FOR_PARTS = timedelta(minutes=10)
"""How long an incomplete text waits for the rest before what there is is shown (common practice: minutes)."""

NEAR = timedelta(seconds=30)
"""By how much the stamps of neighbouring parts may differ: a part takes seconds to send, and is tried again after some more."""

MINUTE = timedelta(minutes=1)
GAP = "[...]"


def parts_of_one_text(parts: Sequence[StoredPart]) -> tuple[StoredPart, ...] | None:
    """Those that are one whole text, with their doubles; the newest that is whole first. None: there is no such text yet."""
    for part in reversed(parts):
        chosen = _one_text(part, parts)
        if len({each.part.number for each in chosen}) == part.part.total:
            return chosen
    return None


def join(parts: Sequence[StoredPart]) -> Text | None:
    """The whole text if every part number from 1 to total is there."""
    chosen = parts_of_one_text(parts)
    return None if chosen is None else what_there_is(chosen)


def left_over(parts: Sequence[StoredPart]) -> Iterator[tuple[StoredPart, ...]]:
    """Parts that waited long enough → the parts of one text each."""
    left = list(parts)
    while left:
        group = _one_text(left[0], parts)
        yield group
        left = [part for part in left if part not in group]


def what_there_is(parts: Sequence[StoredPart]) -> Text:
    """The parts of one text as a text, with a mark for each that is missing; its time is not yet judged."""
    by_number = {part.part.number: part for part in reversed(parts)}
    total = parts[0].part.total
    missing = tuple(number for number in range(1, total + 1) if number not in by_number)
    first = min(parts, key=lambda part: part.heard_at)
    return Text(
        number=first.number,
        text="".join(by_number[number].text if number in by_number else GAP for number in range(1, total + 1)),
        at=first.heard_at,
        heard_at=max(part.heard_at for part in parts),
        stamp=min((part.stamp for part in parts if part.stamp), default=None),
        segments=total,
        missing_parts=missing,
    )


def _one_text(part: StoredPart, parts: Sequence[StoredPart]) -> tuple[StoredPart, ...]:
    """The parts that belong together whichever of them one begins with; else the part by itself."""
    chosen = _around(part, parts)
    if all(_around(each, parts) == chosen for each in chosen):
        return chosen
    return tuple(each for each in parts if _is_double(each, part))


def _around(part: StoredPart, parts: Sequence[StoredPart]) -> tuple[StoredPart, ...]:
    """The part, and of each other number the one that belongs to it, if that can be said; doubles are taken with them."""
    chosen: list[StoredPart] = []
    for number in range(1, part.part.total + 1):
        others = [each for each in parts if each.part.number == number]
        if number == part.part.number:
            chosen += [each for each in others if _is_double(each, part)]
        else:
            chosen += _belonging(part, others)
    return tuple(chosen)


def _belonging(part: StoredPart, others: Sequence[StoredPart]) -> Sequence[StoredPart]:
    near = sorted((each for each in others if _is_near(part, each)), key=lambda each: _distance(part, each))
    if not near:
        return ()
    doubles = [each for each in near if _is_double(each, near[0])]
    rivals = [each for each in near if not _is_double(each, near[0])]
    # as near as the nearest: nobody can say whose text it is
    return () if rivals and _distance(part, rivals[0]) == _distance(part, near[0]) else doubles


def _distance(part: StoredPart, other: StoredPart) -> tuple[bool, timedelta]:
    """Nearest is what was stamped in the order of its number, then what was stamped soonest before or after."""
    earlier, later = sorted((part, other), key=lambda each: each.part.number)
    if earlier.stamp is None or later.stamp is None:
        return False, abs(earlier.heard_at - later.heard_at)
    return later.stamp < earlier.stamp, abs(later.stamp - earlier.stamp)


def _is_near(part: StoredPart, other: StoredPart) -> bool:
    apart = abs(part.heard_at - other.heard_at)
    if part.stamp is None or other.stamp is None:
        return apart <= WAIT_FOR_PARTS
    between = abs(part.stamp - other.stamp)
    if between <= NEAR * abs(part.part.number - other.part.number):
        return True
    # a centre that stamps whole minutes: the minute may have changed between them
    whole_minutes = part.stamp.second == other.stamp.second == 0
    return whole_minutes and between <= MINUTE and apart <= NEAR


def _is_double(part: StoredPart, other: StoredPart) -> bool:
    return part.part == other.part and part.text == other.text and part.stamp == other.stamp
