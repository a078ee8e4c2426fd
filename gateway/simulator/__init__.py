"""The simulator: a simulated modem on a real pseudo-terminal, and the network behind it."""

from gateway.simulator.control import control_path, inject, serve_control
from gateway.simulator.habits import CALL_RESULTS, Faults, Habits
from gateway.simulator.modem import SimulatedModem
from gateway.simulator.network import Network, Policy, Sent

__all__ = [
    "CALL_RESULTS",
    "Faults",
    "Habits",
    "Network",
    "Policy",
    "Sent",
    "SimulatedModem",
    "control_path",
    "inject",
    "serve_control",
]
