"""A silence that has begun → what probably lies behind it, from what is on record.

Evidence: whether the controller had lost its power, how its volts moved, what its outlook says of the month, whether our own modem
has a network, and who else fell silent since it has none.
"""

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any

from gateway.facts.moments import time_of
from gateway.heartbeats.explain import why_silent as judged
from gateway.ports import Reader
from gateway.power.outlook import power_outlook
from gateway.power.watch import USUAL_V, believable, nominal_v
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.troubles import trouble_since

LOOK_BACK = timedelta(days=14)


def why_silent(
    reader: Reader, site: Site, now: datetime, controller: Controller, since: datetime, fallen: Collection[str] = ()
) -> dict[str, Any]:
    """`{"cause", "because", …}` where something is known, else nothing. `fallen`: all that are found silent by this verdict."""
    power = controller.power
    events = reader.events(controller=controller.id, since=since - LOOK_BACK, until=since)
    volts = [(one.at, float(one.detail["volts"])) for one in events if isinstance(one.detail.get("volts"), int | float)]
    nominal = nominal_v(power, [one for _, one in volts])
    condition = reader.mark("gateway:condition") or {}
    why = judged(
        power_lost=reader.mark(f"power:{controller.id}") is not None,
        volts=[] if nominal is None else [one for one in volts if believable(one[1], nominal)],
        others_silent=_others(reader, site, now, controller, fallen),
        our_signal=condition.get("registered"),
        since=since,
        nominal_v=nominal or USUAL_V,
        sun_short=_sun_short(site, controller, since),
    )
    if why.kind == "unknown":
        return {}
    data = {"last_volts" if name == "volts" else name: value for name, value in why.data.items()}
    return {"cause": why.kind, "because": why.because, **data}


def _others(reader: Reader, site: Site, now: datetime, controller: Controller, fallen: Collection[str]) -> int:
    """Who else fell silent since our modem has no network; a box that died long before proves nothing."""
    lost = trouble_since(reader, "signal-lost")
    count = 0
    for one in site.settings.controllers:
        flagged = time_of((reader.mark(f"silent:{one.id}") or {}).get("flagged"))
        lately = lost is not None and flagged is not None and flagged >= lost
        count += one.id != controller.id and (one.id in fallen or lately)
    return count


def _sun_short(site: Site, controller: Controller, since: datetime) -> bool:
    """Whether its panel may not carry it then: a month that uses more than it gets, or the worst one without two dull weeks in store."""
    if controller.power is None or controller.power.panel is None:
        return False
    outlook = power_outlook(controller.id, controller.power, site.settings.site.latitude)
    if outlook.sun_unknown or outlook.carries:
        return False
    month = since.astimezone(site.zone).month
    return month == outlook.worst_month or month in outlook.short_months()
