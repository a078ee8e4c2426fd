"""The modem's device, where only one is plugged in."""

from pathlib import Path

from serial.tools import list_ports

INSTALLED = "/dev/gateway-modem"
"""What the installation's udev rule calls it."""
BY_ID = Path("/dev/serial/by-id")


def likely_device() -> str:
    """By its lasting name, which stays when it is plugged in elsewhere; else as the installation calls it."""
    lasting = sorted(map(str, BY_ID.glob("*"))) if BY_ID.is_dir() else []
    ports = lasting or sorted(port.device for port in list_ports.comports() if port.vid is not None)
    return ports[0] if len(ports) == 1 else INSTALLED
