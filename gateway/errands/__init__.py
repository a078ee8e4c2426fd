"""Errands: texts that the gateway sends to a controller on somebody's order, with the answer that they expect."""

from gateway.errands.box_clock import drift
from gateway.errands.codes import CODE_HOLDS, confirms, new_code
from gateway.errands.course import LEAVES_WITHIN, Course, Next, next_step
from gateway.errands.outgoing_text import filled_text

__all__ = [
    "CODE_HOLDS",
    "LEAVES_WITHIN",
    "Course",
    "Next",
    "confirms",
    "drift",
    "filled_text",
    "new_code",
    "next_step",
]
