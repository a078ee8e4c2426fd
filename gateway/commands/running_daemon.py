"""A command that needs the daemon: whether one runs, and what becomes of what was left for it in the store.

The store is the only thing between the two, so that `serve` may run under another user; a wake-up only makes it quicker.
"""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import TypeVar

from gateway.clock import SystemClock
from gateway.errors import GatewayError
from gateway.ports import Reader, Store
from gateway.settings.models import Settings

Answer = TypeVar("Answer")
LOOKED_AT_EVERY_S = 0.2
SLEEPS_AT_MOST = timedelta(minutes=1)
"""A daemon that may not be woken (it is another user's) looks at its store within this."""


def require_daemon(settings: Settings) -> None:
    """Raises GatewayError where no daemon runs on this store: nothing is left for it then, to happen at some later time."""
    if not daemon_runs(settings):
        raise GatewayError(
            "no daemon runs on this store, so that nothing can leave: sudo systemctl start tank-gateway (or tank-gateway serve)"
        )


def daemon_runs(settings: Settings) -> bool:
    """Whether a daemon has this store."""
    # Imported here: SQLAlchemy behind it takes 0.36 s and 21 MB, which `--help` and `water` do without.
    from gateway.storage import holder

    return holder(settings.store.url, settings.site.name) is not None


def await_in_store(
    store: Store, settings: Settings, look: Callable[[Reader], Answer | None], longest: timedelta
) -> Answer | None:
    """What `look` finds in the store, as soon as it does; None after so long, or once the daemon is gone. Ctrl-C: KeyboardInterrupt."""
    clock = SystemClock()
    until_s = clock.monotonic() + longest.total_seconds()
    with _interrupts_noted() as interrupted:
        while not interrupted.is_set():
            with store.read() as reader:
                found = look(reader)
            if found is not None or clock.monotonic() >= until_s or not daemon_runs(settings):
                return found
            clock.pause(interrupted, LOOKED_AT_EVERY_S)
    raise KeyboardInterrupt


@contextmanager
def _interrupts_noted() -> Iterator[threading.Event]:
    """Ctrl-C is taken between two looks: in the middle of one it could leave a transaction behind, and nothing could be written then."""
    interrupted = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield interrupted
        return
    before = signal.signal(signal.SIGINT, lambda *_: interrupted.set())
    try:
        yield interrupted
    finally:
        signal.signal(signal.SIGINT, before)
