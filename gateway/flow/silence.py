"""A silence that has begun → what probably lies behind it, from what is on record."""

from datetime import datetime, timedelta
from typing import Any

from gateway.flow.house import Moment
from gateway.settings.models import Controller

LOOK_BACK = timedelta(days=14)


def why_silent(moment: Moment, controller: Controller, since: datetime) -> dict[str, Any]:
    """`{"cause": key}` where something is known, else nothing."""
    from gateway.heartbeats.explain import explain_silence

    condition = moment.tx.mark("gateway:condition") or {}
    events = moment.tx.events(controller=controller.id, since=since - LOOK_BACK, until=since)
    volts = [(event.at, event.detail["volts"]) for event in events if "volts" in event.detail]
    others = [
        one.id
        for one in moment.house.settings.controllers
        if one.id != controller.id and moment.tx.mark(f"silent:{one.id}") is not None
    ]
    cause = explain_silence(
        power_lost=moment.tx.mark(f"power:{controller.id}") is not None,
        volts=volts,
        others_silent=len(others),
        our_signal=condition.get("registered"),
        since=since,
    )
    return {"cause": cause} if cause else {}
