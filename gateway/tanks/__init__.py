"""A float's state and a reading → its next state and what happened; floats → the state of a tank."""

from gateway.tanks.floats import FloatMemory, Switched, feel, settle
from gateway.tanks.state import FloatNow, tank_state

__all__ = ["FloatMemory", "FloatNow", "Switched", "feel", "settle", "tank_state"]
