"""Boxes without a thermometer, and their monthly means → of which it is to be told that nights may freeze from now on."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.facts.states.controllers_and_tanks import FrostSeason
from gateway.ports import Reader
from gateway.settings.controller_tables import Controller
from gateway.site import Site

FREEZING_MEAN_C = 6.0
"""The nights of a month are colder than its mean by about so much (common practice)."""
AHEAD = timedelta(days=15)
LOOK_BACK, EVENTS_LOOKED_AT = timedelta(days=30), 200
ONCE_A_SEASON = timedelta(days=200)


def cold_seasons(reader: Reader, site: Site, now: datetime) -> Iterator[tuple[Controller, int, float]]:
    """(box, the month that comes, its mean), where that month may freeze and nobody was told this season."""
    month = (now.astimezone(site.zone) + AHEAD).month
    for controller in site.settings.controllers:
        means = controller.power.monthly_celsius if controller.power is not None else ()
        if not means or means[month - 1] > FREEZING_MEAN_C:
            continue
        told = reader.state(FrostSeason, controller.id)
        fresh = told is not None and timedelta(0) <= now - told.told_at < ONCE_A_SEASON
        if not fresh and not _has_thermometer(reader, controller, now):
            yield controller, month, means[month - 1]


def _has_thermometer(reader: Reader, controller: Controller, now: datetime) -> bool:
    events = reader.events(controller=controller.id, since=now - LOOK_BACK, limit=EVENTS_LOOKED_AT)
    return any("celsius" in event.detail for event in events)
