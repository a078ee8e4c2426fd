"""Parts → one whole text, known once, at a time that can be believed."""

from gateway.inbox.clock_trust import (
    CLOCK_FLOOR,
    ClockStanding,
    after_a_step,
    clock_standing,
    clock_trusted,
    weigh_stamp,
)
from gateway.inbox.joined_parts import join
from gateway.inbox.repeats import in_time_for_a_repeat, nothing_came_between
from gateway.inbox.text_time import believable, latest_possible, time_of_text

__all__ = [
    "CLOCK_FLOOR",
    "ClockStanding",
    "after_a_step",
    "believable",
    "clock_standing",
    "clock_trusted",
    "in_time_for_a_repeat",
    "join",
    "latest_possible",
    "nothing_came_between",
    "time_of_text",
    "weigh_stamp",
]
