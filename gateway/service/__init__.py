"""The daemon: `build` wires the house together, `Daemon.run` drains one queue, `Daemon.tell` ends it."""

from gateway.service.loop import Daemon
from gateway.service.wiring import Built, build

__all__ = ["Built", "Daemon", "build"]
