"""The daemon: `build` wires the house together, `Daemon.run` drains one queue, `Daemon.stop` ends it."""

from gateway.service.build import Built, build
from gateway.service.loop import Daemon

__all__ = ["Built", "Daemon", "build"]
