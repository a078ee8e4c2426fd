"""Parts → one whole text, known once, at a time that can be believed."""

from gateway.inbox.joined_parts import join
from gateway.inbox.repeats import in_time_for_a_repeat, nothing_came_between
from gateway.inbox.text_time import CLOCK_FLOOR, believable, clock_trusted, happened_at, latest_possible

__all__ = [
    "CLOCK_FLOOR",
    "believable",
    "clock_trusted",
    "happened_at",
    "in_time_for_a_repeat",
    "join",
    "latest_possible",
    "nothing_came_between",
]
