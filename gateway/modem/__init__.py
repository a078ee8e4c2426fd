"""The serial line and the AT dialogue on it: one thread that owns both, behind `gateway.ports.Modem`."""

from collections.abc import Callable

from gateway.modem.dialogue import Times
from gateway.modem.serial_modem import SerialModem
from gateway.modem.sim import Pin
from gateway.modem.trace import Trace
from gateway.ports import Clock
from gateway.settings.models import ModemTable

__all__ = ["Pin", "SerialModem", "Times", "Trace", "open_modem"]


def open_modem(
    table: ModemTable,
    pin: str | None,
    clock: Clock,
    *,
    pin_tried: Callable[[], bool] = lambda: False,
    mark_pin_tried: Callable[[], None] = lambda: None,
    mark_pin_taken: Callable[[], None] = lambda: None,
    times: Times | None = None,
    trace: Trace | None = None,
) -> SerialModem:
    """The modem of a configuration; opened once it is started."""
    return SerialModem(
        table.device,
        baud=table.baud,
        pin=Pin(pin=pin, tried=pin_tried, mark_tried=mark_pin_tried, mark_taken=mark_pin_taken),
        sweep_every=table.sweep_every,
        delivery_reports=table.delivery_reports,
        clock=clock,
        times=times,
        trace=trace,
    )
