"""Which serial devices there are, and which of them answers AT: for `doctor`.

A stick shows several ports; only some of them speak AT.
"""

import os
import time

from serial.tools import list_ports

from gateway.errors import ModemTrouble
from gateway.modem.dialogue import Dialogue
from gateway.modem.link import Link

ANSWER_WITHIN_S = 2.0


def candidates() -> list[tuple[str, str]]:
    """(device, what it says of itself) of every serial port that could be a modem."""
    return [(port.device, port.description or "serial port") for port in list_ports.comports()]


def answers_at(device: str, baud: int) -> bool:
    """Whether a modem answers AT there. Opens exclusively; never while a daemon has it."""
    wake_read, wake_write = os.pipe()
    try:
        link = Link(device, baud, wake_read)
    except ModemTrouble:
        return False
    finally:
        os.close(wake_write)
    try:
        Dialogue(link, time.monotonic, lambda news: None).command("AT", within_s=ANSWER_WITHIN_S)
    except ModemTrouble:
        return False
    finally:
        link.close()
        os.close(wake_read)
    return True
