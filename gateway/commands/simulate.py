"""`simulate TEXT --from NUMBER`: a text into a `serve` that runs on the simulated modem."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_settings
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError, UsageWrong
from gateway.facts.harmless import harmless
from gateway.simulator import control_path, inject
from gateway.simulator.pdus import deliver_pdus


def run(arguments: argparse.Namespace) -> int:
    """Hands the text to the simulated network."""
    if not arguments.sender.strip():
        raise UsageWrong("an empty number; right would be --from NUMBER")
    settings = load_settings(arguments)
    if settings.modem.device != "simulated":
        raise GatewayError('modem.device is not "simulated": send a real text instead')
    try:
        deliver_pdus(arguments.sender, arguments.text, SystemClock().now())
    except ValueError as error:
        raise GatewayError(f"no network brings that: {error}") from None
    try:
        inject(control_path(settings.store.url, settings.site.name), arguments.sender, arguments.text)
    except OSError:
        raise GatewayError("no serve on the simulated modem runs with this configuration; start one first") from None
    if arguments.json:
        print_json({"from": arguments.sender, "text": arguments.text})
    else:
        print(f"On its way from {harmless(arguments.sender)}: {harmless(arguments.text)}")
    return 0
