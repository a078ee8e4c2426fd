"""`doctor`: configuration, store, clock, disk, modem, SIM, signal, in order; stops nowhere; says what is right or what to do.

Where a daemon runs, its modem is not touched: what the daemon last saw of it is shown. `--text CONTACT` sends a test message.
"""

import argparse
import sys
from collections.abc import Iterator

from gateway.clock import SystemClock
from gateway.commands.check import EXTRA_CHECKS
from gateway.commands.finding import Finding
from gateway.commands.modem_findings import modem_findings
from gateway.commands.opening import store_of
from gateway.commands.showing import local, print_json, print_table
from gateway.commands.stored_findings import stored_findings
from gateway.commands.waking import wake_daemon
from gateway.errors import ConfigurationWrong, GatewayError, StoreTrouble
from gateway.facts.harmless import harmless
from gateway.handlers.enqueue import enqueue
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import clock_trusted
from gateway.service.disk import room, store_folder
from gateway.settings.load import load, mode_problem
from gateway.settings.problems import problem_line
from gateway.site import Site, compile_site
from gateway.status.troubles import disk_wrong


def run(arguments: argparse.Namespace) -> int:
    """0 if everything is right or unknown, 1 if something is wrong."""
    findings: list[Finding] = []
    site = _house(arguments.config, findings)
    if site is not None:
        findings.extend(_machine(site))
        findings.extend(_stored(site))
        findings.extend(modem_findings(site))
        if arguments.contact:
            findings.append(_test_message(site, arguments.contact))
    wrong = [one for one in findings if one.right is False]
    for one in wrong:
        print(harmless(f"wrong: {one.what}: {one.said}{'; ' + one.do if one.do else ''}"), file=sys.stderr)
    if arguments.json:
        print_json({"findings": [{"what": f.what, "right": f.right, "said": f.said, "do": f.do} for f in findings]})
        return 1 if wrong else 0
    mark = {True: "right", False: "WRONG", None: "unknown"}
    rows = [(one.what, mark[one.right], f"{one.said}{' -> ' + one.do if one.do else ''}") for one in findings]
    print_table(("looked at", "is", "what was found -> what to do"), rows, widths=(14, 8, 52))
    return 1 if wrong else 0


def _house(file: str, findings: list[Finding]) -> Site | None:
    try:
        loaded = load(file, EXTRA_CHECKS)
    except ConfigurationWrong as wrong:
        said = "; ".join(problem_line(one) for one in wrong.problems[:3])
        findings.append(Finding(what="configuration", right=False, said=said, do="tank-gateway check"))
        return None
    readable = mode_problem(file)
    if readable is not None:
        findings.append(Finding(what="configuration", right=False, said=readable.wrong, do=readable.right))
    else:
        notes = f", {len(loaded.warnings)} notes (tank-gateway check)" if loaded.warnings else ""
        findings.append(Finding(what="configuration", right=True, said=f"{file} holds{notes}"))
    return compile_site(loaded.settings)


def _machine(site: Site) -> Iterator[Finding]:
    now = SystemClock().now()
    trusted = clock_trusted(now, None)
    yield Finding(
        what="clock",
        right=trusted,
        said=local(now, site.zone),
        do="" if trusted else "the clock was never set: connect the board to a network, or set it by hand",
    )
    found = room(site.settings)
    if found is not None:
        full = disk_wrong(*found)
        yield Finding(
            what="disk",
            right=not full,
            said=f"{found[0] / 1e9:.1f} GB free in {store_folder(site.settings)}",
            do="make room, or give the store another place" if full else "",
        )


def _stored(site: Site) -> Iterator[Finding]:
    from gateway.storage import place

    try:
        with store_of(site.settings).read() as reader:
            yield Finding(what="store", right=True, said=place(site.settings.store.url))
            yield from stored_findings(site, reader, SystemClock().now())
    except StoreTrouble as trouble:
        yield Finding(what="store", right=False, said=trouble.said, do="see README, When something is wrong")


def _test_message(site: Site, name: str) -> Finding:
    contact = site.contacts.get(name)
    if contact is None:
        return Finding(
            what="test message", right=False, said=f"no contact {name!r}", do=f"one of {', '.join(site.contacts)}"
        )
    try:
        with store_of(site.settings).write() as tx:
            unit = UnitOfWork(tx=tx, site=site, now=SystemClock().now())
            said = site.phrases.message("test", {"site": site.settings.site.name}, line=contact.line)
            enqueue(unit, contact, said, urgent=True, subject="gateway")
    except GatewayError as wrong:
        return Finding(what="test message", right=False, said=wrong.said)
    running = wake_daemon(site.settings)
    said = (
        "handed to the daemon; `tank-gateway texts` shows whether it left"
        if running
        else "it leaves once the daemon runs"
    )
    return Finding(what="test message", right=True if running else None, said=said)
