"""The serial line and the AT dialogue on it: one thread that owns both, behind `gateway.ports.Modem`."""

from gateway.modem.session import Times
from gateway.modem.sim import Pin
from gateway.modem.worker import SerialModem, open_modem

__all__ = ["Pin", "SerialModem", "Times", "open_modem"]
