"""`water`: volumes, draw, inflow, refill and pump, each figure with its inputs and source."""

import argparse

from gateway.commands.site_and_store import load_settings
from gateway.commands.terminal_output import print_json, print_table
from gateway.water.water_figures import water_report


def run(arguments: argparse.Namespace) -> int:
    """Prints the calculations."""
    report = water_report(load_settings(arguments))
    if arguments.json:
        print_json(report.as_json())
        return 0
    print_table(("what", "how much", "how it was got"), report.rows())
    return 0
