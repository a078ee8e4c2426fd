"""`doctor`: configuration, clock, disk, store, modem, SIM, signal, in order; stops nowhere; says what is right or what to do.

Where a daemon runs, its modem is not touched: what the daemon last saw of it is shown. `--text CONTACT` sends a test message.
"""

import argparse
import sys
from collections.abc import Iterator
from datetime import timedelta

from gateway.clock import SystemClock
from gateway.commands.doctor_findings import Finding, configuration_finding, machine_findings, modem_findings
from gateway.commands.record_findings import daemon_finding, record_findings
from gateway.commands.running_daemon import await_in_store, daemon_runs
from gateway.commands.site_and_store import open_site_store, wake_daemon
from gateway.commands.terminal_output import print_json, print_table
from gateway.errors import GatewayError, StoreMissing, StoreTrouble
from gateway.facts.harmless import harmless
from gateway.handlers.enqueue import enqueue
from gateway.handlers.unit_of_work import unit_of_work
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.site import Site, compile_site
from gateway.storage import place

DELIVERY_AWAITED = timedelta(minutes=2)
"""A text to a phone that is on takes seconds (common practice); one that is off is told later."""


def run(arguments: argparse.Namespace) -> int:
    """0 if everything is right or unknown, 1 if something is wrong."""
    findings = list(_findings(arguments.config, arguments.contact))
    wrong = [finding for finding in findings if finding.right is False]
    for finding in wrong:
        remedy = f"; {finding.remedy}" if finding.remedy else ""
        print(harmless(f"wrong: {finding.what}: {finding.text}{remedy}"), file=sys.stderr)
    if arguments.json:
        print_json(
            {
                "findings": [
                    {"what": finding.what, "right": finding.right, "said": finding.text, "do": finding.remedy}
                    for finding in findings
                ]
            }
        )
    else:
        _print(findings)
    return 1 if wrong else 0


def _print(findings: list[Finding]) -> None:
    marks = {True: "right", False: "WRONG", None: "unknown"}
    rows = [
        (finding.what, marks[finding.right], f"{finding.text}{' -> ' + finding.remedy if finding.remedy else ''}")
        for finding in findings
    ]
    print_table(("looked at", "is", "what was found -> what to do"), rows)


def _findings(file: str, contact: str | None) -> Iterator[Finding]:
    settings, finding = configuration_finding(file)
    yield finding
    if settings is None:
        return
    site = compile_site(settings)
    yield from machine_findings(site, SystemClock().now())
    yield from _store_findings(site)
    yield from modem_findings(site)
    if contact:
        yield _test_message(site, contact)


def _store_findings(site: Site) -> Iterator[Finding]:
    try:
        with open_site_store(site.settings).read() as reader:
            yield Finding(what="store", right=True, text=place(site.settings.store.url))
            yield from record_findings(site, reader, SystemClock().now())
    except StoreMissing:
        text, remedy = (
            f"there is none at {place(site.settings.store.url)} yet",
            "serve makes it; if there should be one, mend store.url",
        )
        yield Finding(what="store", right=None, text=text, remedy=remedy)
        yield daemon_finding(site)
    except StoreTrouble as trouble:
        yield Finding(what="store", right=False, text=trouble.said, remedy="see README, When something is wrong")


def _test_message(site: Site, name: str) -> Finding:
    contact = site.contacts.get(name) or site.contact_called(name)
    if contact is None:
        remedy = f"one of {', '.join(site.contacts)}"
        return Finding(what="test message", right=False, text=f"no contact {name!r}", remedy=remedy)
    try:
        with open_site_store(site.settings).write() as tx:
            unit = unit_of_work(tx, site, SystemClock().now())
            message = site.phrases.message("test", {"site": site.settings.site.name}, line=contact.line)
            queued = enqueue(unit, unit.site.contacts[contact.id], message, urgent=True, subject="gateway")
    except GatewayError as trouble:
        return Finding(what="test message", right=False, text=trouble.said)
    if not daemon_runs(site.settings):
        return Finding(what="test message", right=None, text="it leaves once the daemon runs")
    wake_daemon(site.settings)
    return _became_of(site, contact, queued.id or 0)


def _became_of(site: Site, contact: Contact, message_id: int) -> Finding:
    """Waits until the network says that it arrived (or, where it is not asked, until it left)."""
    reports = site.settings.modem.delivery_reports
    ends = ("delivered", "failed") if reports else ("sent", "delivered", "failed")
    began_s = SystemClock().monotonic()

    def ended(reader: Reader) -> str | None:
        message = reader.message(message_id)
        return message.state if message is not None and message.state in ends else None

    store = open_site_store(site.settings)
    state = await_in_store(store, site.settings, ended, DELIVERY_AWAITED)
    took = f"after {SystemClock().monotonic() - began_s:.0f} s"
    if state == "delivered":
        return Finding(what="test message", right=True, text=f"delivered to {contact.name} {took}")
    if state == "sent":
        text = f"left for {contact.name} {took}; whether it arrived is not asked (modem.delivery_reports)"
        return Finding(what="test message", right=True, text=text)
    if state == "failed":
        text, remedy = f"not delivered to {contact.name}", "look at the number, and whether that phone is on"
        return Finding(what="test message", right=False, text=text, remedy=remedy)
    with store.read() as reader:
        message = reader.message(message_id)
    left = message is not None and message.state == "sent"
    text = f"{'left, but the network has not said that it arrived' if left else 'has not left'} {took}"
    return Finding(what="test message", right=None, text=text, remedy="`tank-gateway texts` shows what becomes of it")
