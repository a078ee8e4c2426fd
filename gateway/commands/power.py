"""`power`: the battery and sun outlook, month by month, with a plain verdict, and what the battery's own voltage says now."""

import argparse
import sys
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import iso, print_json, print_table, print_text
from gateway.errors import StoreTrouble
from gateway.power.charge import freezes_at_c
from gateway.power.outlook import PowerOutlook, power_outlook
from gateway.power.said import Caution, cautions, verdict
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.battery import BatteryNow, battery_now, battery_said

CAUTIONS: Mapping[Caution, str] = {
    "acid": "Batteries hold acid: goggles, gloves, water at hand.",
    "gas": "While they charge they give off a gas that explodes: no flame, no spark, air to the open.",
    "frost": f"A flat lead battery freezes at {freezes_at_c(0):.0f} C and bursts, a half full one at {freezes_at_c(50):.0f} C: "
    "wrap it against the cold, and never charge one that is frozen.",
    "frozen-charge": "This battery must not be charged below 0 C unless its own electronics see to that.",
    "height": "Panels stand high: no work on roofs or ladders alone, or in wind, wet or ice.",
    "lightning": "A mast or a raised frame draws lightning: stay away when thunder is about.",
}
LOCAL_CODES = "Your local codes come first; leave to licensed people what is theirs."


def run(arguments: argparse.Namespace) -> int:
    """Prints an outlook for every controller with a [controllers.power] table."""
    site = house_of(arguments)
    latitude, now = site.settings.site.latitude, SystemClock().now()
    powered = [one for one in site.settings.controllers if one.power is not None]
    outlooks = [(one, power_outlook(one.id, one.power, latitude)) for one in powered if one.power is not None]
    batteries = _batteries(site, powered, now)
    if arguments.json:
        print_json({"controllers": [_json(site, outlook, batteries.get(one.id)) for one, outlook in outlooks]})
        return 0
    if not outlooks:
        print("No controller has a [controllers.power] table; nothing to work out.", file=sys.stderr)
        return 1
    for controller, outlook in outlooks:
        _print(site, controller, outlook)
        found = batteries.get(controller.id)
        said = battery_said(site, found, now) if found else "no believable voltage was read these two weeks."
        print_text(f"Now: {said}", after="\n")
    _caution(powered)
    return 0


def _batteries(site: Site, controllers: list[Controller], now: datetime) -> dict[str, BatteryNow]:
    """What their texts said; nothing where there is no store yet."""
    try:
        with store_of(site.settings, create=False).read() as reader:
            found = {one.id: battery_now(reader, site, one, now) for one in controllers}
    except StoreTrouble:
        return {}
    return {key: one for key, one in found.items() if one is not None}


def _json(site: Site, outlook: PowerOutlook, found: BatteryNow | None) -> dict[str, Any]:
    """The contract's figures, and besides the verdict and the battery now."""
    now = found and {
        "volts": found.volts,
        "at": iso(found.at, site.zone),
        "percent": None if found.percent is None else round(found.percent),
        "low_volts": found.limit,
        "slope": found.trend.slope.as_json() if found.trend else None,
        "low_on": iso(found.low_on, site.zone),
    }
    return {**outlook.as_json(), "verdict": verdict(outlook, site.phrases.month_name), "now": now}


def _print(site: Site, controller: Controller, outlook: PowerOutlook) -> None:
    print_text(f"{controller.name}: {outlook.usable.value:.1f} Ah usable in its worst month.", after="\n")
    rows = [
        (
            site.phrases.month_name(one.month),
            f"{one.sun.value:.2f}",
            f"{one.charge.value:.2f}",
            f"{one.use.value:.2f}",
            f"{one.days_without_sun.value:.1f}",
            "runs down" if one.charge.value < one.use.value else "covers it",
        )
        for one in outlook.months
    ]
    headings = ("month", "sun\nkWh/m2/day", "charge\nAh/day", "use\nAh/day", "days\nwithout sun", "the sun")
    print_table(headings, rows, widths=(12, None, None, None, None, None))
    print()
    print_text(verdict(outlook, site.phrases.month_name), after="\n")
    print_text(f"Sun: {outlook.worst.sun.source}.", after="\n")


def _caution(controllers: list[Controller]) -> None:
    """What to beware of with any of these batteries and panels, each once."""
    wanted = {key for one in controllers if one.power is not None for key in cautions(one.power)}
    print_text(" ".join([*(said for key, said in CAUTIONS.items() if key in wanted), LOCAL_CODES]), after="\n")
