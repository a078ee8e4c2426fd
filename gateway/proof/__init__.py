"""The proof of the whole chain, as values: the walk from each float to the tester's phone."""

from gateway.proof.walk_course import (
    FREED_AFTER,
    SLOW,
    Fault,
    Heard,
    Motion,
    current,
    expected,
    heard_now,
    motion_of,
    next_place,
    step_over,
    with_fault,
)

__all__ = [
    "FREED_AFTER",
    "SLOW",
    "Fault",
    "Heard",
    "Motion",
    "current",
    "expected",
    "heard_now",
    "motion_of",
    "next_place",
    "step_over",
    "with_fault",
]
