"""`doctor`: configuration, store, clock, disk, modem, SIM, signal, in order; stops nowhere; says what is right or what to do.

Where a daemon runs, its modem is not touched: what the daemon last saw of it is shown. `--text CONTACT` sends a test message.
"""

import argparse
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.check import EXTRA_CHECKS
from gateway.commands.opening import store_of
from gateway.commands.showing import local, print_json, print_table
from gateway.commands.waking import wake_daemon
from gateway.errors import ConfigurationWrong, GatewayError, StoreTrouble
from gateway.flow.house import House, Moment, furnish
from gateway.flow.post import post
from gateway.flow.summary import costs
from gateway.inbox import clock_trusted
from gateway.ports import Reader
from gateway.settings.load import load, mode_problem
from gateway.settings.problems import problem_line

LEAST_FREE_BYTES = 200 * 1024 * 1024
BACKUP_TOO_OLD = timedelta(days=3)
OUTBOX_TOO_OLD = timedelta(hours=6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing looked at: `right` True, False, or None for unknown; `do` is what helps."""

    what: str
    right: bool | None
    said: str
    do: str = ""


def run(arguments: argparse.Namespace) -> int:
    """0 if everything is right or unknown, 1 if something is wrong."""
    findings: list[Finding] = []
    house = _house(arguments.config, findings)
    if house is not None:
        findings.extend(_machine(house))
        findings.extend(_stored(house))
        findings.extend(_modem(house))
        if arguments.contact:
            findings.append(_test_message(house, arguments.contact))
    wrong = [one for one in findings if one.right is False]
    if arguments.json:
        print_json({"findings": [{"what": f.what, "right": f.right, "said": f.said, "do": f.do} for f in findings]})
        return 1 if wrong else 0
    mark = {True: "right", False: "WRONG", None: "unknown"}
    rows = [(one.what, mark[one.right], f"{one.said}{' -> ' + one.do if one.do else ''}") for one in findings]
    print_table(("looked at", "is", "what was found -> what to do"), rows, widths=(14, 8, 52))
    return 1 if wrong else 0


def _house(file: str, findings: list[Finding]) -> House | None:
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
    return furnish(loaded.settings)


def _machine(house: House) -> Iterator[Finding]:
    now = SystemClock().now()
    trusted = clock_trusted(now, None)
    yield Finding(
        what="clock",
        right=trusted,
        said=local(now, house.zone),
        do="" if trusted else "the clock was never set: connect the board to a network, or set it by hand",
    )
    folder = _folder(house)
    if folder is not None and folder.exists():
        free = shutil.disk_usage(folder).free
        yield Finding(
            what="disk",
            right=free >= LEAST_FREE_BYTES,
            said=f"{free / 1e9:.1f} GB free in {folder}",
            do="" if free >= LEAST_FREE_BYTES else "make room, or give the store another place",
        )


def _stored(house: House) -> Iterator[Finding]:
    try:
        store = store_of(house.settings)
        with store.read() as reader:
            yield Finding(what="store", right=True, said=house.settings.store.url)
            yield from _daemon(house, reader)
            yield _outbox(reader)
            yield _backup(house, reader)
            yield from _cost(house, reader)
    except StoreTrouble as trouble:
        yield Finding(what="store", right=False, said=trouble.said, do="see README, When something is wrong")


def _daemon(house: House, reader: Reader) -> Iterator[Finding]:
    from gateway.storage import holder

    pid = holder(house.settings.store.url)
    yield Finding(
        what="daemon",
        right=pid is not None,
        said=f"runs as process {pid}" if pid else "does not run",
        do="" if pid else "sudo systemctl start tank-gateway (or tank-gateway serve)",
    )
    for kind in ("modem-lost", "sim-trouble", "signal-lost", "clock-untrusted"):
        since = reader.mark(f"gateway:{kind}")
        if since:
            last = reader.last_event((kind,))
            why = last.detail.get("why", "") if last else ""
            yield Finding(
                what=kind,
                right=False,
                said=f"since {local(datetime.fromisoformat(since), house.zone)} {why}",
                do=_help(kind),
            )


def _outbox(reader: Reader) -> Finding:
    waiting = [one for one in reader.outbox() if one.state != "held"]
    oldest = min((one.at for one in waiting), default=None)
    late = oldest is not None and SystemClock().now() - oldest > OUTBOX_TOO_OLD
    return Finding(
        what="outbox",
        right=not late,
        said=f"{len(waiting)} messages wait",
        do="messages wait for hours: look at modem, SIM and signal" if late else "",
    )


def _backup(house: House, reader: Reader) -> Finding:
    if not house.settings.store.backup_folder:
        return Finding(
            what="backup", right=None, said="none is made by itself", do="store.backup_folder on another medium"
        )
    last = reader.last_event(("backup-made",))
    good = last is not None and SystemClock().now() - last.at < BACKUP_TOO_OLD
    return Finding(
        what="backup",
        right=good,
        said=f"last {local(last.at if last else None, house.zone)}",
        do="" if good else "look at store.backup_folder and the log",
    )


def _cost(house: House, reader: Any) -> Iterator[Finding]:
    if house.settings.limits.price_per_segment > 0:
        said = costs(Moment(tx=reader, house=house, now=SystemClock().now()))
        yield Finding(
            what="cost", right=True, said=f"this month {said['cost']}, a year like the last 30 days {said['year']}"
        )


def _modem(house: House) -> Iterator[Finding]:
    device = house.settings.modem.device
    if device == "simulated":
        yield Finding(what="modem", right=True, said="simulated")
        return
    from gateway.storage import holder

    if holder(house.settings.store.url) is not None:
        yield from _modem_as_the_daemon_saw_it(house)
        return
    from gateway.modem.probe import answers_at, candidates

    if Path(device).exists():
        answers = answers_at(device, house.settings.modem.baud)
        yield Finding(
            what="modem",
            right=answers,
            said=f"{device} {'answers AT' if answers else 'does not answer AT'}",
            do="" if answers else "another of its ports may: see the candidates",
        )
    else:
        yield Finding(what="modem", right=False, said=f"there is no {device}", do="plug it in; see the candidates")
    for name, description in candidates():
        yield Finding(what="candidate", right=None, said=f"{name}: {description}")


def _modem_as_the_daemon_saw_it(house: House) -> Iterator[Finding]:
    with store_of(house.settings).read() as reader:
        modem = reader.mark("gateway:modem") or {}
        seen = reader.mark("gateway:condition") or {}
    yield Finding(what="modem", right=bool(modem) or None, said=f"{modem.get('model', 'not seen yet')}")
    yield Finding(what="SIM", right=seen.get("sim") == "ready" if seen else None, said=str(seen.get("sim", "unknown")))
    registered = seen.get("registered")
    yield Finding(
        what="network",
        right=registered,
        said=str(seen.get("operator") or "unknown"),
        do="" if registered is not False else "no network: move the antenna, look at the SIM's contract",
    )
    signal = seen.get("signal_percent")
    weak = signal is not None and signal < 15
    yield Finding(
        what="signal",
        right=None if signal is None else not weak,
        said=f"{signal} %" if signal is not None else "unknown",
        do="weak: a better place or an outside antenna" if weak else "",
    )


def _test_message(house: House, name: str) -> Finding:
    contact = house.contacts.get(name)
    if contact is None:
        return Finding(
            what="test message", right=False, said=f"no contact {name!r}", do=f"one of {', '.join(house.contacts)}"
        )
    try:
        with store_of(house.settings).write() as tx:
            moment = Moment(tx=tx, house=house, now=SystemClock().now())
            said = house.phrases.say("test", {"site": house.settings.site.name}, line=contact.line)
            post(moment, contact, said, urgent=True, subject="gateway")
    except GatewayError as wrong:
        return Finding(what="test message", right=False, said=wrong.said)
    running = wake_daemon(house.settings)
    said = (
        "handed to the daemon; `tank-gateway texts` shows whether it left"
        if running
        else "it leaves once the daemon runs"
    )
    return Finding(what="test message", right=True if running else None, said=said)


def _folder(house: House) -> Path | None:
    url = house.settings.store.url
    return Path(url.removeprefix("sqlite:///")).parent if url.startswith("sqlite:///") else None


def _help(kind: str) -> str:
    return {
        "modem-lost": "look at its cable and power; another program may hold it",
        "sim-trouble": "see what it says; a PUK is entered in a phone",
        "signal-lost": "move the antenna; ask the operator",
        "clock-untrusted": "connect the board to a network once, or fit a clock battery",
    }[kind]
