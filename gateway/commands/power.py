"""`power`: the battery and sun outlook, month by month, with a plain verdict."""

import argparse
import sys

from gateway.commands.opening import house_of
from gateway.commands.showing import print_json, print_table
from gateway.flow.house import House
from gateway.power.outlook import DULL_DAYS, PowerOutlook, power_outlook

CAUTION = (
    "Batteries hold acid, give off gas and must not be charged when frozen; panels stand high and draw lightning.\n"
    "Work on them by your local codes, and leave to licensed people what is theirs."
)


def run(arguments: argparse.Namespace) -> int:
    """Prints an outlook for every controller with a [controllers.power] table."""
    house = house_of(arguments)
    latitude = house.settings.site.latitude
    outlooks = [
        (one.name, power_outlook(one.id, one.power, latitude))
        for one in house.settings.controllers
        if one.power is not None
    ]
    if arguments.json:
        print_json({"controllers": [outlook.as_json() for _, outlook in outlooks]})
        return 0
    if not outlooks:
        print("No controller has a [controllers.power] table; nothing to work out.", file=sys.stderr)
        return 1
    for name, outlook in outlooks:
        _print(house, name, outlook)
    print(CAUTION)
    return 0


def verdict(house: House, outlook: PowerOutlook) -> str:
    """What the twelve months come to, in a sentence or two."""
    worst = outlook.worst
    name = house.phrases.month_name(worst.month)
    days = worst.days_without_sun.value
    said = f"In {name}, its worst month, it holds {days:.0f} days without sun"
    said += "; over two dull weeks it will fail." if days < DULL_DAYS else ", two dull weeks among them."
    short = outlook.short_months()
    if short:
        named = ", ".join(house.phrases.month_name(month) for month in short)
        said += f" In {named} the sun does not cover what is used: it runs down."
    return said


def _print(house: House, name: str, outlook: PowerOutlook) -> None:
    print(f"{name}: {outlook.usable.value:.1f} Ah usable in its worst month.\n")
    rows = [
        (
            house.phrases.month_name(one.month),
            f"{one.sun.value:.2f}",
            f"{one.charge.value:.2f}",
            f"{one.use.value:.2f}",
            f"{one.days_without_sun.value:.1f}",
            "short" if one.charge.value < one.use.value else "",
        )
        for one in outlook.months
    ]
    headings = ("month", "sun kWh/m2/day", "charge Ah/day", "use Ah/day", "days without sun", "")
    print_table(headings, rows, widths=(10, None, None, None, None, None))
    print(f"\n{verdict(house, outlook)}\n")
    print(f"Sun: {outlook.worst.sun.source}.\n")
