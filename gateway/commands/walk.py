"""`walk`: the guided test after fitting, with `serve` running: what to do, what came of it, how long each leg took, what to mend."""

import argparse
import sys
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.running_daemon import SLEEPS_AT_MOST, await_in_store, require_daemon
from gateway.commands.site_and_store import contact_called, load_site, open_site_store, tank_called, wake_daemon
from gateway.commands.terminal_output import local_time, print_json, print_table, print_text
from gateway.commands.walk_sheet import refuse_other_files, write_sheet
from gateway.errors import GatewayError, UsageWrong
from gateway.facts import Event
from gateway.facts.states.errands_and_tests import WalkUnderWay
from gateway.handlers.unit_of_work import unit_of_work
from gateway.handlers.walk import begin_walk, interrupt_walk
from gateway.ports import Reader, Store
from gateway.settings.durations import parse_duration
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.site import Site
from gateway.status.walk import ENDS, instruction, legs_of

STEPS = 2


def run(arguments: argparse.Namespace) -> int:
    """0 where every float passed, 1 where something must be mended or was not walked."""
    site = load_site(arguments)
    tank, tester = _tank(site, arguments.tank), _tester(site, arguments.contact)
    wait = _wait(arguments.wait)
    if arguments.sheet:
        refuse_other_files(arguments.sheet, arguments.config)  # now, and not when all has been walked
    require_daemon(site.settings)
    store = open_site_store(site.settings)
    with store.write() as tx:
        unit = unit_of_work(tx, site, SystemClock().now())
        walk = begin_walk(unit, tank, tester, wait, by_text=False)
    if walk is None:
        raise GatewayError("there is no float to walk: [[tanks.floats]] in the configuration")
    wake_daemon(site.settings)
    try:
        ended = _lead(site, store, walk, to_stderr=arguments.json)
    except KeyboardInterrupt:
        with store.write() as tx:
            interrupt_walk(unit_of_work(tx, site, SystemClock().now()))
        print("\nInterrupted. The same command goes on with it, for a day.", file=sys.stderr)
        raise
    if arguments.sheet:
        write_sheet(arguments.sheet, site, ended)
    if arguments.json:
        print_json({"passed": ended.detail["passed"], "floats": ended.detail["floats"]})
    else:
        _print(site, ended)
    return 0 if ended.detail["passed"] else 1


def _lead(site: Site, store: Store, walk: WalkUnderWay, *, to_stderr: bool) -> Event:
    """Shows each instruction, and what came, as the daemon goes on; how it ended."""
    leader = _Leader(site, walk, sys.stderr if to_stderr else sys.stdout)
    longest = timedelta(seconds=walk.wait_s) * (STEPS * len(walk.floats) + 1) + 2 * SLEEPS_AT_MOST
    ended = await_in_store(store, site.settings, leader.look, longest)
    if ended is None:
        raise GatewayError("the daemon has not told how the walk ended; `tank-gateway history` will")
    return ended


class _Leader:
    """What is new since it last looked is printed."""

    def __init__(self, site: Site, walk: WalkUnderWay, out: Any) -> None:
        self._site, self._began, self._out = site, walk.at, out
        self._instruction = ""
        self._heard: set[datetime] = set()
        self._faults: set[str] = set()

    def look(self, reader: Reader) -> Event | None:
        """How it ended; None: it goes on."""
        walk = reader.state(WalkUnderWay)
        if walk is not None and walk.at == self._began:
            self._show(walk)
            if walk.interrupted:
                raise GatewayError(
                    "nothing came of two floats in a row: the walk waits. The same command goes on with it"
                )
        ended = reader.events(kinds=ENDS, since=self._began, limit=3)
        return next((event for event in ended if event.detail["at"] == self._began.isoformat()), None)

    def _show(self, walk: WalkUnderWay) -> None:
        for leg in legs_of(walk):
            if leg.heard_at not in self._heard and leg.heard_at >= self._began:
                self._heard.add(leg.heard_at)
                after_s = max(0.0, (leg.heard_at - leg.stamp).total_seconds())
                self._say(f"    came: {leg.text} (rule {leg.rule}; heard {after_s:.0f} s after the network's stamp)")
        for tried in walk.floats:
            for fault in tried.faults:
                if f"{tried.key} {fault}" not in self._faults:
                    self._faults.add(f"{tried.key} {fault}")
                    self._say(f"    {self._site.tank_name(tried.tank)}: {_fault_said(self._site, tried.tank, fault)}")
        now_do = instruction(self._site, walk, "mobile") or (
            "" if walk.ended else "Waiting for the messages to arrive …"
        )
        if now_do and now_do != self._instruction:
            self._say(now_do)
        self._instruction = now_do

    def _say(self, line: str) -> None:
        print(line, file=self._out, flush=True)


def _fault_said(site: Site, tank: str, fault: str) -> str:
    kind, _, what = fault.partition(":")
    placed = next((placed for placed in site.floats.values() if placed.key == what), None)
    return site.phrases.label(f"walk-{kind}").format(what=placed.tank.name if placed is not None else what, name=tank)


def _print(site: Site, ended: Event) -> None:
    print(f"\nThe walk of {local_time(datetime.fromisoformat(ended.detail['at']), site.zone)}, {ended.detail['who']}:")
    rows = [row for tried in ended.detail["floats"] for row in _rows(site, tried)]
    headings = ("float", "result", "text", "heard", "left", "arrived")
    print_table(headings, rows)
    for tried in ended.detail["floats"]:
        if tried["why"]:
            print_text(f"{site.tank_name(tried['tank'])}: {tried['why']}")
    print("Passed. It is on record." if ended.detail["passed"] else "Not passed: mend that, and walk again.")


def _rows(site: Site, tried: Mapping[str, Any]) -> list[tuple[object, ...]]:
    """A float's two legs."""
    rows: list[tuple[object, ...]] = []
    for state in ("active", "idle"):
        leg = tried[state]
        legs = [_seconds(leg[name] if leg else None) for name in ("heard_after_s", "sent_after_s", "delivered_after_s")]
        name = f"{site.tank_name(tried['tank'])} ({tried['input']})"
        rows.append(
            (
                name if state == "active" else "",
                tried["result"] if state == "active" else "",
                leg["text"] if leg else None,
                *legs,
            )
        )
    return rows


def _seconds(value: float | None) -> str | None:
    return None if value is None else f"{value:.1f} s"


def _tank(site: Site, written: str | None) -> Tank | None:
    return tank_called(site, written) if written is not None else None


def _tester(site: Site, written: str | None) -> Contact:
    """Who gets the test's messages. Raises GatewayError where there is nobody."""
    if written is not None:
        return contact_called(site, written)
    contacts = sorted(site.settings.contacts, key=lambda contact: (contact.line != "mobile", contact.turn))
    if not contacts:
        raise GatewayError("there are no contacts: nobody would get the test's messages")
    return contacts[0]


def _wait(written: str) -> timedelta:
    try:
        wait = parse_duration(written)
    except ValueError as error:
        raise UsageWrong(f"{written!r} is no duration: {error}") from None
    if wait <= timedelta(0):
        raise UsageWrong("a text takes some time; right would be --wait 10m")
    return wait
