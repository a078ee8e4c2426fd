"""Parts of one text → the whole text, or not yet.

In: the stored parts of one (sender, reference, total) and the part that just came. Out: a facts.Text once every part is
there, else None; `what_there_is` shows an incomplete one after its time (missing parts marked with "[...]").
Source: 3GPP TS 23.040 9.2.3.24.1 (concatenation by sender, reference, total; any order; doubles ignored).
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from gateway.facts import Text
from gateway.inbox.text_time import happened_at
from gateway.ports import StoredPart

WAIT_FOR_PARTS = timedelta(minutes=10)
"""How long an incomplete text waits for the rest before what there is is shown (common practice: minutes)."""

GAP = "[...]"


def join(parts: Sequence[StoredPart], *, trusted: bool = True) -> Text | None:
    """The whole text if every part number from 1 to total is there."""
    have = {part.part.number for part in parts}
    total = parts[0].part.total
    return _text(parts, trusted) if have >= set(range(1, total + 1)) else None


def what_there_is(parts: Sequence[StoredPart], *, trusted: bool = True) -> Text:
    """The text with a mark for each missing part."""
    return _text(parts, trusted)


def _text(parts: Sequence[StoredPart], trusted: bool) -> Text:
    by_number = {part.part.number: part for part in reversed(parts)}
    total = parts[0].part.total
    missing = tuple(number for number in range(1, total + 1) if number not in by_number)
    first = min(parts, key=lambda part: part.heard_at)
    stamp = min((part.stamp for part in parts if part.stamp), default=None)
    return Text(
        number=first.number,
        text="".join(by_number[number].text if number in by_number else GAP for number in range(1, total + 1)),
        at=_at(stamp, first.heard_at, trusted),
        heard_at=max(part.heard_at for part in parts),
        stamp=stamp,
        segments=total,
        missing_parts=missing,
    )


def _at(stamp: datetime | None, heard_at: datetime, trusted: bool) -> datetime:
    return happened_at(stamp, heard_at, trusted=trusted)
