"""The rehearsal: a simulated modem on a real pseudo-terminal, and the network behind it."""

from gateway.rehearsal.control import control_path, inject, serve_control
from gateway.rehearsal.habits import Faults, Habits
from gateway.rehearsal.modem import SimulatedModem
from gateway.rehearsal.network import Network, Policy, Sent

__all__ = [
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
