"""What systemd wants to know → one datagram to the socket it named. A dozen lines: no library does less.

Source: sd_notify(3) (READY=1, RELOADING=1, STOPPING=1, STATUS=…, WATCHDOG=1; an abstract address starts with @).
"""

import os
import socket


def notify(state: str) -> bool:
    """Sends the state; False where nobody asked for it."""
    address = os.environ.get("NOTIFY_SOCKET", "")
    if not address:
        return False
    if address.startswith("@"):
        address = "\0" + address[1:]
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as line:
            line.sendto(state.encode(), address)
    except OSError:
        return False
    return True


def watchdog_s() -> float | None:
    """How often systemd wants a sign of life, in seconds; None: it does not."""
    asked = os.environ.get("WATCHDOG_USEC", "")
    return int(asked) / 1_000_000 if asked.isdecimal() and int(asked) else None
