"""The daemon: `build` wires the house together, `Daemon.run` drains one queue, `Daemon.tell` ends it."""

from gateway.service.build_daemon import Built, build
from gateway.service.loop import Daemon

__all__ = ["Built", "Daemon", "build"]
