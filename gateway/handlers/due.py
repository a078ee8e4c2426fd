"""What is due by time is done: debounces, silence, asking, alarms, pauses, parts, what the calendar asks for.

When it is due stands in `status.next_due`. Verdicts over controllers wait until the modem works and its store was swept once: what
lies unread on the SIM is heard first, and while our own modem is away no silence of a controller is its fault.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

from gateway.handlers import gateway_life
from gateway.handlers.alarms import advance_alarms
from gateway.handlers.controllers import judge_controllers
from gateway.handlers.drill import move_drill
from gateway.handlers.dry_taps import end_dry_by_reckoning
from gateway.handlers.enqueue import enqueue
from gateway.handlers.errands import move_errands
from gateway.handlers.event_followers import record_event
from gateway.handlers.float_ends import end_by_reckoning
from gateway.handlers.floats import end_chatter, end_debounces
from gateway.handlers.gateway_health import watch_delivery, watch_outbox, watch_signal
from gateway.handlers.gauges import tell_quiet_gauges
from gateway.handlers.pauses import end_pauses
from gateway.handlers.presence import move_presence
from gateway.handlers.receive import read_overdue_parts
from gateway.handlers.reminders import send_reminders
from gateway.handlers.switched_errands import end_switched
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.walk import move_walk
from gateway.handlers.watch import move_watch
from gateway.phrases.phrasebook import Label, Line
from gateway.site import Site
from gateway.status.gateway_troubles import troubles
from gateway.status.next_due import next_due
from gateway.status.summary import week_list, well_now


def do_what_is_due(unit: UnitOfWork, *, verdicts: bool) -> datetime | None:
    """Does what is due; returns when to look again."""
    for part in parts(verdicts=verdicts):
        part(unit)
    return next_due(unit.tx, unit.site, unit.now, verdicts=verdicts)


def parts(*, verdicts: bool) -> tuple[Callable[[UnitOfWork], object], ...]:
    """What `do_what_is_due` does, part by part, in order."""
    judging = (gateway_life.tell_outage, judge_controllers, tell_quiet_gauges) if verdicts else ()
    return (
        end_debounces,
        end_chatter,
        end_by_reckoning,
        end_dry_by_reckoning,
        read_overdue_parts,
        end_pauses,
        move_errands,
        end_switched,
        move_drill,
        move_walk,
        move_watch,
        move_presence,
        *judging,
        move_alarms,
        send_reminders,
        watch_signal,
        watch_outbox,
        watch_delivery,
        gateway_life.watch_clock,
    )


def move_alarms(unit: UnitOfWork) -> None:
    """Alarms move by time; that nobody took one is on record."""
    for unanswered in advance_alarms(unit):
        record_event(unit, unanswered)


def send_weekly(unit: UnitOfWork) -> None:
    """ "All is well, these seven days" to who wants it, so that silence of the gateway itself is noticed too; the calendar says when.

    All is well only where no tank is low, every controller is heard, and nothing is wrong with the gateway itself; that stands first.
    """
    site = unit.site
    own = troubles(unit.tx)
    key = "well" if well_now(unit.tx, site, unit.now) and not own else "not-well"
    for contact_id in site.settings.digest.contacts:
        contact = site.contacts.get(contact_id)
        if contact is not None:
            listed = f"{_troubles_said(site, own, contact.line)}{week_list(unit.tx, site, unit.now, contact.line)}"
            segments = site.segments
            values = {"list": listed, "day": site.phrases.day_name(unit.now.astimezone(site.zone).weekday())}
            text = site.phrases.message(key, values, segments=segments, line=contact.line)
            enqueue(unit, contact, text, urgent=False, subject="gateway")


def _troubles_said(site: Site, kinds: Sequence[str], line: Line) -> str:
    return "".join(f"{site.phrases.week_line('trouble', {'what': Label(kind)}, line=line)} " for kind in kinds)
