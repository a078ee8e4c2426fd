"""`power`: the battery and sun outlook, month by month, with a plain verdict."""

import argparse
import sys

from gateway.commands.opening import house_of
from gateway.commands.showing import print_json, print_table
from gateway.power.outlook import power_outlook


def run(arguments: argparse.Namespace) -> int:
    """Prints an outlook for every controller with a [controllers.power] table."""
    house = house_of(arguments)
    latitude = house.settings.site.latitude
    powered = [one for one in house.settings.controllers if one.power is not None]
    outlooks = [(one, power_outlook(one.id, one.power, latitude)) for one in powered if one.power is not None]
    if arguments.json:
        print_json({"controllers": [outlook.as_json() for _, outlook in outlooks]})
        return 0
    if not outlooks:
        print("No controller has a [controllers.power] table; nothing to work out.", file=sys.stderr)
        return 1
    for controller, outlook in outlooks:
        print(f"{controller.name}")
        print_table(outlook.headings(), outlook.rows(), widths=(None,) * len(outlook.headings()))
        print(f"\n{outlook.verdict}\n")
    return 0
