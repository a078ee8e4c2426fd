"""The serial line and the AT dialogue on it: one thread that owns both, behind `gateway.ports.Modem`."""

from gateway.modem.dialogue import Times
from gateway.modem.serial_modem import SerialModem, open_modem
from gateway.modem.sim import Pin

__all__ = ["Pin", "SerialModem", "Times", "open_modem"]
