"""`simulate TEXT --from NUMBER`: a text into a `serve` that runs on the simulated modem."""

import argparse

from gateway.commands.opening import settings_of
from gateway.errors import GatewayError
from gateway.rehearsal import control_path, inject


def run(arguments: argparse.Namespace) -> int:
    """Hands the text to the simulated network."""
    settings = settings_of(arguments)
    if settings.modem.device != "simulated":
        raise GatewayError('modem.device is not "simulated": send a real text instead')
    try:
        inject(control_path(settings.store.url, settings.site.name), arguments.sender, arguments.text)
    except OSError:
        raise GatewayError("no serve on the simulated modem runs with this configuration; start one first") from None
    print(f"On its way from {arguments.sender}: {arguments.text}")
    return 0
