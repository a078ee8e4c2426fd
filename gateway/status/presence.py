"""How many draw water just now, by somebody's word: nobody, so many, or as many as are configured; and what follows of it for forecasts."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.facts.states.people import Presence
from gateway.phrases.phrasebook import Line, When
from gateway.ports import Reader
from gateway.settings.water_tables import Demand
from gateway.site import Site
from gateway.water.demand import demand_in_month, demand_l_day

DRIPS = 0.05
"""Share of the usual use that an empty house is reckoned with: cisterns and valves drip (common practice)."""
ASKED_EVERY = timedelta(days=1)


def presence_now(reader: Reader, at: datetime) -> Presence | None:
    """What somebody said of it and holds; None: as many as are configured draw water. That nobody does holds until somebody is back."""
    kept = reader.state(Presence)
    if kept is None or kept.people is None or at < kept.since:
        return None
    ended = kept.until is not None and at >= kept.until
    return None if ended and kept.people > 0 else kept


def away_now(reader: Reader, at: datetime) -> Presence | None:
    """That nobody draws water, where somebody said so and nobody has said otherwise since, whatever end was named."""
    now = presence_now(reader, at)
    return now if now is not None and now.people == 0 else None


def demand_now(reader: Reader, site: Site, at: datetime) -> Demand:
    """What draws water, for a forecast: more or fewer people than are configured; an empty house drips.

    Once the end of an absence that was named is past, or something was drawn in it all the same, it is reckoned as if all were there: a
    forecast that is too early costs less than one that is too late.
    """
    demand, now = demand_in_month(site.settings, at.astimezone(site.zone).month), presence_now(reader, at)
    if now is None or now.people is None:
        return demand
    doubtful = (now.until is not None and at >= now.until) or any(
        alarm.kind == "draw-while-away" for alarm in reader.alarms()
    )
    if now.people == 0 and doubtful:
        return demand
    changed = demand.model_copy(update={"people": now.people})
    lacks = max(0.0, DRIPS * demand_l_day(demand) - demand_l_day(changed))
    return changed.model_copy(update={"other_litres_day": changed.other_litres_day + lacks})


def presence_said(reader: Reader, site: Site, now: datetime, line: Line = "mobile") -> str | None:
    """`Nobody draws water until Sun 18:00`; None: as many as are configured do."""
    presence = presence_now(reader, now)
    if presence is None or presence.people is None:
        return None
    until = When(presence.until, now, site.zone) if presence.until is not None else None
    key = f"{'away' if presence.people == 0 else 'people'}{'' if until is None else '-until'}"
    return site.phrases.week_line(key, {"people": f"{presence.people:g}", "until": until}, line=line)


def presence_dues(reader: Reader) -> Iterator[datetime]:
    """When its end is asked for, or there."""
    kept = reader.state(Presence)
    if kept is None or kept.people is None or kept.until is None:
        return
    yield max(kept.until, kept.asked_at + ASKED_EVERY) if kept.asked_at is not None else kept.until
