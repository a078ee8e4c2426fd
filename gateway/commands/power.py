"""`power`: the battery and sun outlook, month by month, with a plain verdict, and what the battery's own voltage says now."""

import argparse
import sys
from collections.abc import Mapping, Sequence
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json, print_table, print_text
from gateway.errors import StoreTrouble
from gateway.facts.iso_time import iso_time
from gateway.power.battery_needed import Needed, needed
from gateway.power.freezing import freezing_row_at
from gateway.power.monthly_outlook import PowerOutlook, power_outlook
from gateway.power.outlook_in_words import Caution, cautions, needed_words, verdict
from gateway.settings.controller_tables import Controller, Power
from gateway.site import Site
from gateway.status.battery import BatteryNow, battery_now, battery_said

FLAT, HALF = freezing_row_at(0), freezing_row_at(50)
CAUTIONS: Mapping[Caution, str] = {
    "acid": "Batteries hold acid: goggles, gloves, water at hand.",
    "gas": "While they charge they give off a gas that explodes: no flame, no spark, air to the open.",
    "frost": f"A flat lead battery freezes at {FLAT.celsius:g} C (specific gravity {FLAT.gravity:.2f}, by {FLAT.source}; at 1.10 at -7 C) "
    f"and bursts, a half full one at {HALF.celsius:.0f} C: wrap it against the cold, and never charge one that is frozen.",
    "frozen-charge": "This battery must not be charged below 0 C unless its own electronics see to that.",
    "height": "Panels stand high: no work on roofs or ladders alone, or in wind, wet or ice.",
    "lightning": "A mast or a raised frame draws lightning: stay away when thunder is about.",
}
NONE_READ = "no believable voltage was read these two weeks."
NOT_KNOWN = "not known what its voltage says: the record cannot be read."
LOCAL_CODES = "Your local codes come first; leave to licensed people what is theirs."


def run(arguments: argparse.Namespace) -> int:
    """Prints an outlook for every controller with a [controllers.power] table."""
    site = load_site(arguments)
    latitude, now = site.settings.site.latitude, SystemClock().now()
    powered = [
        (controller, controller.power) for controller in site.settings.controllers if controller.power is not None
    ]
    outlooks = [(controller, power, power_outlook(controller.id, power, latitude)) for controller, power in powered]
    batteries = _batteries(site, [controller for controller, _ in powered], now)
    if arguments.json:
        documents = [
            _outlook_json(site, outlook, needed(power, latitude, outlook), (batteries or {}).get(controller.id))
            for controller, power, outlook in outlooks
        ]
        print_json({"controllers": documents})
        return 0
    if not outlooks:
        print("No controller has a [controllers.power] table; nothing to work out.", file=sys.stderr)
        return 1
    for controller, power, outlook in outlooks:
        _print_outlook(site, controller, outlook)
        wanted, held = needed(power, latitude, outlook), outlook.worst.days_without_sun.value
        print_text(needed_words(power, wanted, held, site.phrases.month_name), after="\n")
        battery = (batteries or {}).get(controller.id)
        unsaid = NOT_KNOWN if batteries is None else NONE_READ
        print_text(f"Now: {battery_said(site, battery, now) if battery else unsaid}", after="\n")
    _print_cautions([power for _, power in powered])
    return 0


def _batteries(site: Site, controllers: Sequence[Controller], now: datetime) -> dict[str, BatteryNow] | None:
    """What their texts said, by the controller's id. None: the record cannot be read, and standard error says why."""
    try:
        with open_site_store(site.settings).read() as reader:
            batteries = {controller.id: battery_now(reader, site, controller, now) for controller in controllers}
    except StoreTrouble as trouble:
        print(f"note: {trouble.said}", file=sys.stderr)
        return None
    return {controller: battery for controller, battery in batteries.items() if battery is not None}


def _outlook_json(site: Site, outlook: PowerOutlook, wanted: Needed, battery: BatteryNow | None) -> dict[str, object]:
    """The contract's figures, and besides the verdict and the battery now."""
    now = battery and {
        "volts": battery.volts,
        "at": iso_time(battery.at, site.zone),
        "percent": None if battery.percent is None else round(battery.percent),
        "low_volts": battery.limit,
        "slope": battery.trend.slope.as_json() if battery.trend else None,
        "low_on": iso_time(battery.low_on, site.zone),
        "spent": battery.spent.days.as_json() if battery.spent and battery.spent.days else None,
    }
    wants = {"battery": wanted.battery.as_json(), "panel": wanted.panel.as_json() if wanted.panel else None}
    return {
        **outlook.as_json(),
        "verdict": verdict(outlook, site.phrases.month_name),
        "fourteen_dull_days": wants,
        "now": now,
    }


def _print_outlook(site: Site, controller: Controller, outlook: PowerOutlook) -> None:
    print_text(f"{controller.name}: {outlook.usable.value:.1f} Ah usable in its worst month.", after="\n")
    rows = [
        (
            site.phrases.month_name(month.month),
            f"{month.sun.value:.2f}",
            f"{month.charge.value:.2f}",
            f"{month.use.value:.2f}",
            f"{month.days_without_sun.value:.1f}",
            "runs down" if month.charge.value < month.use.value else "covers it",
        )
        for month in outlook.months
    ]
    headings = ("month", "sun\nkWh/m2/day", "charge\nAh/day", "use\nAh/day", "days\nwithout sun", "the sun")
    print_table(headings, rows)
    print()
    print_text(verdict(outlook, site.phrases.month_name), after="\n")
    print_text(f"Sun: {outlook.worst.sun.source}.", after="\n")


def _print_cautions(tables: Sequence[Power]) -> None:
    """What to beware of with any of these batteries and panels, each once."""
    wanted = {caution for power in tables for caution in cautions(power)}
    sentences = [sentence for caution, sentence in CAUTIONS.items() if caution in wanted]
    print_text(" ".join([*sentences, LOCAL_CODES]), after="\n")
