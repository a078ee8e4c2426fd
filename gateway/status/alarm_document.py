"""An alarm that stands, as a value for JSON."""

from typing import Any

from gateway.facts.alarms import Alarm
from gateway.facts.iso_time import iso_time
from gateway.facts.states.people import TapsDry
from gateway.site import Site
from gateway.status.alarms_listed import AlarmListed
from gateway.status.dry_taps import bleed_steps, step_reached, step_said


def alarm_document(site: Site, listed: AlarmListed, dry: TapsDry | None) -> dict[str, Any]:
    """As the contract has it; of dry taps also the steps."""
    alarm, zone = listed.alarm, site.zone
    following = listed.next
    return {
        "id": alarm.number,
        "kind": alarm.kind,
        "tank": alarm.tank,
        "controller": alarm.controller,
        "priority": alarm.priority,
        "state": alarm.state,
        "since": iso_time(alarm.since, zone),
        "says": listed.says,
        "taken_by": alarm.taken_by,
        "taken_at": iso_time(alarm.taken_at, zone),
        "next": {"what": following.what, "at": iso_time(following.at, zone)} if following is not None else None,
        "told": [
            {
                "contact": telling.contact,
                "at": iso_time(telling.at, zone),
                "state": telling.state,
                "answered_at": iso_time(telling.answered_at, zone),
            }
            for telling in listed.told
        ],
        "folded": [_folded(site, folded) for folded in listed.folded],
        **_steps(site, alarm, dry),
    }


def _folded(site: Site, folded: Alarm) -> dict[str, Any]:
    return {
        "kind": folded.kind,
        "tank": folded.tank,
        "controller": folded.controller,
        "since": iso_time(folded.since, site.zone),
    }


def _steps(site: Site, alarm: Alarm, dry: TapsDry | None) -> dict[str, Any]:
    if alarm.kind != "ran-dry" or dry is None:
        return {}
    steps = [step_said(site, number) for number in range(len(bleed_steps(site)))]
    return {"steps": steps, "step": step_reached(site, dry) + 1}
