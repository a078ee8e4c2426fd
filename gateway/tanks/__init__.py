"""A float's or a gauge's state and a reading → its next state and what happened; floats → the state of a tank."""

from gateway.tanks.float_states import Switched, apply_debounce, apply_reading, debounce_due, distrust_future
from gateway.tanks.gauge_states import GaugeLimits, GaugeStep, apply_height, apply_no_height
from gateway.tanks.tank_state import FloatNow, tank_state

__all__ = [
    "FloatNow",
    "GaugeLimits",
    "GaugeStep",
    "Switched",
    "apply_debounce",
    "apply_height",
    "apply_no_height",
    "apply_reading",
    "debounce_due",
    "distrust_future",
    "tank_state",
]
