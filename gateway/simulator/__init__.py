"""The simulator: a simulated modem on a real pseudo-terminal, and the network behind it."""

from gateway.simulator.control_socket import control_path, inject, serve_control
from gateway.simulator.habits import CALL_RESULTS, Faults, Habits
from gateway.simulator.network import Network, Policy, Sent
from gateway.simulator.simulated_modem import SimulatedModem

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
