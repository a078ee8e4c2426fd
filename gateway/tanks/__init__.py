"""A float's state and a reading → its next state and what happened; floats → the state of a tank."""

from gateway.tanks.floats import Switched, apply_debounce, apply_reading, debounce_due, distrust_future
from gateway.tanks.state import FloatNow, tank_state

__all__ = [
    "FloatNow",
    "Switched",
    "apply_debounce",
    "apply_reading",
    "debounce_due",
    "distrust_future",
    "tank_state",
]
