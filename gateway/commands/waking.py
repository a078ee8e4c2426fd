"""A command changed something that is due by time → the running daemon looks again at once."""

import os
import signal

from gateway.settings.models import Settings


def wake_daemon(settings: Settings) -> bool:
    """Signals the daemon on this store, if one runs and may be signalled; else it looks within a minute."""
    from gateway.storage import holder

    pid = holder(settings.store.url, settings.site.name)
    if pid is None:
        return False
    try:
        os.kill(pid, signal.SIGUSR1)
    except (ProcessLookupError, PermissionError):
        return False
    return True
