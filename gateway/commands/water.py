"""`water`: volumes, draw, inflow, refill and pump, each figure with its inputs and source."""

import argparse

from gateway.commands.opening import settings_of
from gateway.commands.showing import print_json, print_table
from gateway.water.report import water_report


def run(arguments: argparse.Namespace) -> int:
    """Prints the calculations."""
    report = water_report(settings_of(arguments))
    if arguments.json:
        print_json(report.as_json())
        return 0
    print_table(("what", "how much", "how it was got"), report.rows(), widths=(24, 14, 36))
    return 0
