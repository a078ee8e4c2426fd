"""An event that opens an alarm → how urgent it is, by what it would lead to; and when the house may run dry.

In this order: the float's own `priority`, the kind's of `[alarms]`, `call_out.urgent` of older files; else a low tank that feeds no other
is urgent, one upstream only if the house may run dry within `urgent_within`, a silent box only if a low tank is now unseen or
the limit may be passed unseen, and anything else is as its kind has it.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from gateway.facts import KINDS, Event, input_key
from gateway.facts.alarms import Alarm
from gateway.facts.event_kind import Priority
from gateway.ports import Reader
from gateway.settings.people_tables import CallOut as CallOutTable
from gateway.site import PlacedFloat, Site
from gateway.status.float_memory import float_memory
from gateway.status.forecast import forecasts
from gateway.status.gauge_memory import gauge_memory
from gateway.status.snapshot import Snapshot, take_snapshot

LEAST_WAIT = timedelta(minutes=30)
"""A forecast is looked at again no sooner than this, since while no text comes it only moves on a little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Urgency:
    """How urgent; `at_stake`: water hangs on it; `dry_early`, `dry_likely`: of when the house may be dry."""

    priority: Priority
    at_stake: bool = False
    dry_early: datetime | None = None
    dry_likely: datetime | None = None


def urgency_of(reader: Reader, site: Site, now: datetime, event: Event) -> Urgency:
    """How urgent the alarm is that the event opens."""
    if event.kind == "low" and event.tank is not None:
        return _of_low_tank(reader, site, now, event, event.tank)
    chosen = chosen_priority(site, event)
    if event.kind == "silent" and chosen is None and event.controller is not None:
        blind = _hides_a_low_tank(reader, site, now, event.controller)
        return Urgency(priority="urgent" if blind else KINDS["silent"].priority, at_stake=blind)
    priority = chosen or KINDS[event.kind].priority
    return Urgency(priority=priority, at_stake=priority == "urgent" and KINDS[event.kind].opens in ("low", "dry"))


def with_urgency(site: Site, now: datetime, alarm: Alarm, urgency: Urgency) -> Alarm:
    """The alarm with what it would lead to by now."""
    return replace(
        alarm,
        priority=urgency.priority,
        at_stake=urgency.at_stake,
        dry_early=urgency.dry_early,
        dry_likely=urgency.dry_likely,
        warn_at=look_again_at(urgency, site.settings.call_out, now),
    )


def _house_dry(
    reader: Reader, site: Site, snapshot: Snapshot, tank: str
) -> tuple[datetime, datetime] | tuple[None, None]:
    """From when a tank that feeds no other may be dry, itself or one below it, and likely is. None: nothing can be said."""
    outlooks = forecasts(reader, site, snapshot)
    below = [house for house in site.house_tanks() if house == tank or tank in site.upstream[house]]
    times = [dry[:2] for house in below if (dry := outlooks[house].dry_at) is not None]
    return min(times, default=(None, None))


def later_edge(reader: Reader, site: Site, now: datetime, alarm: Alarm) -> datetime | None:
    """A newer early edge that leaves more than `warn_before_dry`; None: the one that was told stands.

    Only of a tank upstream, while what it feeds is heard and well: that a float below said nothing yet moves the edge on. Once that
    says low, nobody has looked whether it is dry already, and no newer forecast puts a call off.
    """
    below = [house for house in site.house_tanks() if alarm.tank in site.upstream[house]]
    snapshot = take_snapshot(reader, site, now, numbers=False)
    if not below or any(snapshot.tank(house).state not in ("ok", "high") for house in below):
        return None
    early, _ = _house_dry(reader, site, snapshot, alarm.tank or "")
    return early if early is not None and early - now > site.settings.call_out.warn_before_dry else None


def look_again_at(urgency: Urgency, table: CallOutTable, now: datetime) -> datetime | None:
    """When the forecast is looked at again: at the second call; or, of what is not urgent, when it may become so.

    Where less is left than `warn_before_dry`, half of what is left: who took it may have forgotten it by then.
    """
    early = urgency.dry_early
    if early is None or early <= now or urgency.priority == "record":
        return None
    if urgency.priority != "urgent":
        return max(early - table.urgent_within, now + LEAST_WAIT)
    if table.warn_before_dry <= timedelta(0) or not urgency.at_stake:
        return None
    return max(early - table.warn_before_dry, now + (early - now) / 2)


def _of_low_tank(reader: Reader, site: Site, now: datetime, event: Event, tank: str) -> Urgency:
    early, likely = _house_dry(reader, site, take_snapshot(reader, site, now, numbers=False), tank)
    chosen = chosen_priority(site, event)
    if chosen is not None:
        return Urgency(priority=chosen, at_stake=chosen == "urgent", dry_early=early, dry_likely=likely)
    soon_dry = early is not None and early - now <= site.settings.call_out.urgent_within
    urgent = tank in site.house_tanks() or soon_dry
    return Urgency(priority="urgent" if urgent else "soon", at_stake=urgent, dry_early=early, dry_likely=likely)


def chosen_priority(site: Site, event: Event) -> Priority | None:
    """What the household decided; None: nothing."""
    placed = placed_of(site, event)
    if placed is not None and placed.float.means == event.kind and placed.float.priority:
        return placed.float.priority
    if event.kind == "input-active" and event.detail.get("priority"):
        own: Priority = event.detail["priority"]
        return own
    return chosen_for_kind(site, event.kind)


def chosen_for_kind(site: Site, kind: str) -> Priority | None:
    """What the household decided for every alarm of that kind; None: nothing."""
    table = site.settings.alarms.get(kind)
    if table is not None and table.priority:
        return table.priority
    return "urgent" if kind in site.settings.call_out.urgent else None


def placed_of(site: Site, event: Event) -> PlacedFloat | None:
    """The float whose switch the event tells of."""
    return site.floats.get((event.controller or "", input_key(event.input) if event.input is not None else ""))


def _hides_a_low_tank(reader: Reader, site: Site, now: datetime, controller: str) -> bool:
    """One of its tanks was low when it was last heard, or may have run dry before anybody could look."""
    if any(
        placed.float.means == "low" and float_memory(reader, placed).state == "active"
        for placed in site.floats.values()
        if placed.float.controller == controller
    ):
        return True
    gauges = (gauge for tank in site.tanks_of(controller) for gauge in site.gauges_of(tank.id))
    if any(gauge_memory(reader, gauge).low for gauge in gauges if gauge.gauge.controller == controller):
        return True
    outlooks = forecasts(reader, site, take_snapshot(reader, site, now, numbers=False))
    limit = now + site.settings.call_out.urgent_within
    dry = (outlooks[tank.id].dry_at for tank in site.tanks_of(controller))
    return any(times is not None and times[0] <= limit for times in dry)
