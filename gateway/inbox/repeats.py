"""Octets that came before → a repeat of the network, or a new text.

A network that missed our acknowledgement delivers the same PDU again, within minutes. But octets alone prove nothing for longer: a
centre that stamps whole minutes sends MADE, BROKE, MADE with the first and the last alike, and one whose stamp is stuck sends the
same octets each hour. Too many texts is better than none. (A text that is listed again since its slot could not be freed is another
matter: that is known by the very slot.)
"""

from datetime import datetime, timedelta

REPEAT_WITHIN = timedelta(minutes=10)
"""From the arrival on (fault 62)."""


def in_time_for_a_repeat(first_heard_at: datetime, now: datetime) -> bool:
    """Whether octets that were heard then can be repeated now; the clock may have been set back between."""
    return abs(now - first_heard_at) <= REPEAT_WITHIN


def nothing_came_between(others: int, total_parts: int) -> bool:
    """Whether the sender's `others` (different PDUs since the first) are no more than the other parts of the same text."""
    return others < total_parts
