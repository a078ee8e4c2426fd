"""`serve`: the daemon, until SIGTERM; SIGHUP reads the configuration again, SIGUSR1 looks again at what is due."""

import argparse
import os
import signal
import sys
import threading
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from gateway.commands.configuration_checks import SERVE_CHECKS
from gateway.commands.modem import report_file
from gateway.errors import GatewayError
from gateway.service import build
from gateway.service.journal import log, write_to_stderr
from gateway.service.loop import Order
from gateway.settings.load import load, mode_problem
from gateway.settings.models import Settings

ORDERS: Mapping[int, Order] = {
    signal.SIGTERM: "stop",
    signal.SIGINT: "stop",
    signal.SIGHUP: "reload",
    signal.SIGUSR1: "wake",
}
ENDS_WITHIN_S = 4.3
"""From the signal on; less than what is promised, for a loaded board."""
SWITCH_S = 0.0005
"""How long a thread may hold the interpreter while another wants it: the modem's must not wait five milliseconds for each line."""


def run(arguments: argparse.Namespace) -> int:
    """Serves until stopped."""
    write_to_stderr()
    sys.setswitchinterval(SWITCH_S)
    _keep_private(arguments.config)
    settings = _settings(arguments.config)
    habits = habits_of_simulated(arguments.modem, settings)
    trace = report_file(arguments.trace, arguments.config) if arguments.trace else None
    signal.pthread_sigmask(signal.SIG_BLOCK, ORDERS)  # in every thread that is begun from here on
    built = build(settings, reload=partial(_settings, arguments.config), trace=trace, habits=habits)
    threading.Thread(target=_obey, args=(built.daemon.tell,), name="signals", daemon=True).start()
    try:
        built.daemon.run()
    finally:
        built.close()
    if built.daemon.refused is not None:
        raise GatewayError(built.daemon.refused)
    return 0


def habits_of_simulated(make: str, settings: Settings) -> Any:
    """How the simulated modem is to behave; None where nothing was said. Raises UsageWrong, GatewayError where the modem is a real one."""
    if make == "plain":
        return None
    if settings.modem.device != "simulated":
        raise GatewayError('--modem is how a simulated modem behaves, and modem.device is not "simulated"')
    from gateway.simulator.makes import habits_of  # a board at home needs none of it

    return habits_of(make)


def _obey(tell: Callable[[Order], None]) -> None:
    """On a thread that waits for nothing else. A handler would be called by the loop's thread alone: where the signal came just before
    its wait began, only after that (a minute)."""
    while True:
        order = ORDERS[signal.sigwait(ORDERS)]
        tell(order)
        if order == "stop":
            threading.Thread(target=_end_at_last, name="end", daemon=True).start()


def _end_at_last() -> None:
    """Whatever hangs (a server's answer, a disk): what was accepted is durable, and what is half done is judged at the next start."""
    threading.Event().wait(ENDS_WITHIN_S)
    log.error("action=ended-in-a-hang said='what it waited for did not answer within %s s'", ENDS_WITHIN_S)
    os._exit(1)


def _keep_private(file: str) -> None:
    """The installed configuration is refused while the world can read it; one elsewhere (a trial) is only remarked on."""
    readable = mode_problem(file)
    if readable is None:
        return
    remark = f"{readable.file}: {readable.wrong}; {readable.right}"
    if not readable.warning:
        raise GatewayError(remark)
    log.warning("action=readable-by-all said=%r", remark)


def _settings(file: str) -> Settings:
    return load(file, SERVE_CHECKS).settings
