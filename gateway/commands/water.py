"""`water`: volumes, draw, inflow, refill and pump, each figure with its inputs and source."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json, print_table
from gateway.flow.forecast import learnt_of
from gateway.water.report import water_report


def run(arguments: argparse.Namespace) -> int:
    """Prints the calculations."""
    house = house_of(arguments)
    store = store_of(house.settings)
    with store.read() as reader:
        learnt = learnt_of(reader)
    report = water_report(house.settings, learnt, SystemClock().now())
    if arguments.json:
        print_json(report.as_json())
        return 0
    rows = report.rows()
    print_table(("what", "how much", "from", "source"), rows, widths=(22, 14, 20, 18))
    return 0
