"""`alarms`: what stands, since when, how urgent, who has it, who was told and what comes next; `--why`: the kinds, and why each is as urgent."""

import argparse
import sys
from collections.abc import Mapping, Sequence

from gateway.clock import SystemClock
from gateway.commands.running_daemon import daemon_runs
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import local_time, print_json, print_table, print_text
from gateway.commands.watch_shown import watch_json, watch_line
from gateway.facts import KINDS, kinds_where
from gateway.facts.iso_time import iso_time
from gateway.facts.states.people import TapsDry
from gateway.site import Site
from gateway.status.alarm_document import alarm_document
from gateway.status.alarm_priority import chosen_for_kind
from gateway.status.alarm_rounds import alarm_name
from gateway.status.alarms_listed import AlarmListed, alarms_listed
from gateway.status.dry_taps import step_reached, step_said, taps_dry
from gateway.status.watch import on_watch

NOBODY_LISTENS = """The gateway does not run: this is as it was when it stopped.
What has come since, or has not come, nobody knows."""
NEXT_WORDS = {
    "next-turn": "the next turn is told",
    "reminder": "it is told again",
    "comes-back": "it comes back to who has it",
    "second-call": "the second call, before it is dry",
    "urgent": "it is looked at whether it is urgent by then",
    "work-over": "the work is over",
    "reckoned-over": "over by reckoning, if nobody says so before,",
}


def run(arguments: argparse.Namespace) -> int:
    """Prints what stands, or the table of kinds."""
    site = load_site(arguments)
    if arguments.why:
        _show_kinds(site, as_json=arguments.json)
        return 0
    now = SystemClock().now()
    with open_site_store(site.settings, check=False).read() as reader:
        listed, dry, watch = alarms_listed(reader, site, now), taps_dry(reader), on_watch(reader, site, now)
    if arguments.json:
        alarms = [alarm_document(site, alarm, dry) for alarm in listed]
        print_json({"at": iso_time(now, site.zone), "alarms": alarms, "watch": watch_json(site, watch)})
        return 0
    if not daemon_runs(site.settings):
        print(NOBODY_LISTENS, file=sys.stderr)
    if watch is not None:
        print(watch_line(site, watch))
    if not listed:
        print("Nothing stands.")
    for place, alarm in enumerate(listed):
        _print_alarm(site, alarm, dry, before="\n" if place else "")
    return 0


def _print_alarm(site: Site, listed: AlarmListed, dry: TapsDry | None, *, before: str) -> None:
    alarm, zone = listed.alarm, site.zone
    print_text(f"{alarm.priority}, {alarm.state}: {listed.says}", before=before)
    if alarm.taken_by is not None and alarm.taken_at is not None:
        print_text(f"{site.contact_name(alarm.taken_by)} has it since {local_time(alarm.taken_at, zone)}", label="    ")
    for telling in listed.told:
        answered = f", answered {local_time(telling.answered_at, zone)}" if telling.answered_at is not None else ""
        words = f"told {site.contact_name(telling.contact)} {local_time(telling.at, zone)}"
        print_text(f"{words} ({telling.state or 'not known any more'}{answered})", label="    ")
    for folded in listed.folded:
        name = alarm_name(site, folded, "mobile")
        print_text(f"goes with it: {name} since {local_time(folded.since, zone)}", label="    ")
    if alarm.kind == "ran-dry" and dry is not None:
        print_text(f"now step {step_said(site, step_reached(site, dry))}", label="    ")
    if listed.next is not None:
        print_text(f"next: {NEXT_WORDS[listed.next.what]} {local_time(listed.next.at, zone)}", label="    ")


def _show_kinds(site: Site, *, as_json: bool) -> None:
    """Of every kind that opens an alarm or is told: how urgent, what comes of it, within what time and what to do."""
    rows = [
        {
            "kind": kind,
            "priority": chosen_for_kind(site, kind) or KINDS[kind].priority,
            "consequence": KINDS[kind].consequence,
            "respond_within": KINDS[kind].respond_within,
            "do": KINDS[kind].do,
        }
        for kind in kinds_where(lambda kind: kind.consequence)
    ]
    if as_json:
        print_json({"kinds": rows})
        return
    _print_kinds(rows)


def _print_kinds(rows: Sequence[Mapping[str, str]]) -> None:
    headings = ("kind", "priority", "what comes of it", "within", "what to do")
    print_table(headings, [tuple(row.values()) for row in rows])
    print_text(
        "A low tank upstream and a silent box are urgent only where the house may run dry within call_out.urgent_within;"
        " a priority of your own stands in [alarms.KIND], or with the float.",
        before="\n",
    )
