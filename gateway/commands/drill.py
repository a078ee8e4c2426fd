"""`drill`: everybody gets a test; how long each leg took, who answered, who was not reached."""

import argparse
from collections.abc import Mapping, Sequence
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.running_daemon import SLEEPS_AT_MOST, await_in_store, require_daemon
from gateway.commands.site_and_store import contact_called, load_site, open_site_store, wake_daemon
from gateway.commands.terminal_output import counted, print_json, print_table
from gateway.errors import GatewayError
from gateway.facts.states.errands_and_tests import DrillUnderWay
from gateway.handlers.drill import begin_drill
from gateway.handlers.unit_of_work import unit_of_work
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.site import Site
from gateway.status.drill import ENDS, WAIT, drill_json

NOTHING = "-"


def run(arguments: argparse.Namespace) -> int:
    """0 where everybody was reached, 1 where somebody was not."""
    site = load_site(arguments)
    contacts = _contacts(site, arguments.contact)
    require_daemon(site.settings)
    store = open_site_store(site.settings)
    with store.write() as tx:
        unit = unit_of_work(tx, site, SystemClock().now())
        under_way = tx.state(DrillUnderWay)
        if under_way is not None and not under_way.by_itself and under_way.until > unit.now:
            raise GatewayError("a drill is under way already; it ends within ten minutes")
        drill = begin_drill(unit, [unit.site.contacts[contact.id] for contact in contacts])
    wake_daemon(site.settings)
    if not arguments.json:
        print(
            f"Leaving now: {counted(len(contacts), 'test')}. Waiting for the last OK, ten minutes at most …", flush=True
        )
    detail = await_in_store(store, site.settings, lambda reader: _end_of(reader, drill), WAIT + 2 * SLEEPS_AT_MOST)
    if detail is None:
        raise GatewayError("the daemon has not told how the drill ended; `tank-gateway history` will")
    if arguments.json:
        print_json(drill_json(site, detail))
    else:
        _print(site, detail)
    return 1 if detail["missed"] else 0


def _contacts(site: Site, written: str | None) -> Sequence[Contact]:
    """Raises GatewayError where there is nobody to be tested."""
    contacts = site.settings.contacts if written is None else (contact_called(site, written),)
    if not contacts:
        raise GatewayError("there are no contacts: nobody is told anything")
    return contacts


def _end_of(reader: Reader, drill: DrillUnderWay) -> Mapping[str, Any] | None:
    ended = reader.events(kinds=ENDS, since=drill.at, limit=5)
    return next((event.detail for event in ended if event.detail.get("at") == drill.at.isoformat()), None)


def _print(site: Site, detail: Mapping[str, Any]) -> None:
    rows = [
        (
            site.contact_name(leg["contact"]),
            leg["result"],
            *(_seconds(leg[name]) for name in ("sent_after_s", "delivered_after_s", "answered_after_s")),
        )
        for leg in detail["contacts"]
    ]
    print_table(("contact", "is", "left after", "arrived after", "OK after"), rows)
    print(f"Not reached, or no OK: {detail['names']}." if detail["missed"] else "Everybody was reached.")


def _seconds(value: float | None) -> str:
    return NOTHING if value is None else f"{value:.1f} s"
