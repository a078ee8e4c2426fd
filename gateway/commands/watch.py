"""`watch [CONTACT] [--until TIME]`: who is called first just now; with a contact, who is asked to be: it counts once they say OK."""

import argparse
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.moment_ahead import moment_ahead
from gateway.commands.site_and_store import contact_called, load_site, open_site_store, wake_daemon
from gateway.commands.terminal_output import local_time, print_json
from gateway.commands.watch_shown import watch_json, watch_line
from gateway.errors import GatewayError, UsageWrong
from gateway.facts.iso_time import iso_time
from gateway.facts.states.people import WatchAsked
from gateway.handlers.unit_of_work import unit_of_work
from gateway.handlers.watch import ask_for_watch
from gateway.settings.people_tables import Contact
from gateway.settings.watch_checks import can_have_watch
from gateway.site import Site
from gateway.status.watch import on_watch


def run(arguments: argparse.Namespace) -> int:
    """Says it, or asks for it."""
    site, now = load_site(arguments), SystemClock().now()
    if arguments.contact is None:
        if arguments.until:
            raise UsageWrong("--until needs a contact; right would be: tank-gateway watch robin --until sunday")
        _show(site, now, as_json=arguments.json)
        return 0
    contact = contact_able(site, arguments.contact)
    until = moment_ahead(arguments.until, site, now) if arguments.until else None
    with open_site_store(site.settings, create=True).write() as tx:
        unit = unit_of_work(tx, site, now)
        ask_for_watch(unit, unit.site.contacts[contact.id], until, by=None)
    wake_daemon(site.settings)
    if arguments.json:
        _show(site, now, as_json=True)
    else:
        print(f"{contact.name} is asked by text; it counts once {contact.name} says OK.")
    return 0


def contact_able(site: Site, written: str) -> Contact:
    """By id or name. Raises GatewayError, also where they cannot answer."""
    contact = contact_called(site, written)
    if not can_have_watch(contact):
        raise GatewayError(f"{contact.name} cannot answer OK by text: the watch needs a mobile that may ask")
    return contact


def _show(site: Site, now: datetime, *, as_json: bool) -> None:
    with open_site_store(site.settings, check=False).read() as reader:
        watch, asked = on_watch(reader, site, now), reader.state(WatchAsked)
    if as_json:
        waits = None
        if asked is not None:
            waits = {
                "contact": asked.contact,
                "at": iso_time(asked.at, site.zone),
                "until": iso_time(asked.until, site.zone),
            }
        print_json({"at": iso_time(now, site.zone), "watch": watch_json(site, watch), "asked": waits})
        return
    print(watch_line(site, watch))
    if asked is not None:
        print(
            f"{site.contact_name(asked.contact)} was asked {local_time(asked.at, site.zone)} and has not answered yet."
        )
