"""The store and the house → the page's values; and the page kept fresh in a folder.

Looks at what a page shows: the spells of a year, sums of longer, the last hundred events. Index look-ups, however long the history is.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from gateway.daemon.gather import lately, now, record, sites, spells, trends
from gateway.flow.forecast import forecasts
from gateway.flow.house import House
from gateway.flow.look import look
from gateway.page import PageView, render, write
from gateway.phrases import load_phrases
from gateway.ports import Reader

EVENTS_SHOWN = 100
FRESH_EVERY = timedelta(hours=1)
LOOKED_BACK = timedelta(days=400)
"""Twelve whole months, and the spells that reach into them."""


class Pages:
    """Writes `index.html` into the configured folder: on change, and at least hourly."""

    def __init__(self, folder: str) -> None:
        self._file = str(Path(folder) / "index.html")
        self._written: datetime | None = None
        self._newest = -1

    def write_if_due(self, reader: Reader, house: House, at: datetime) -> bool:
        """Writes the page if anything happened since, or an hour went by."""
        newest = reader.last_id("events")
        if self._written is not None and newest == self._newest and at - self._written < FRESH_EVERY:
            return False
        write(self._file, page(reader, house, at))
        self._written, self._newest = at, newest
        return True

    def due(self, at: datetime) -> datetime:
        """When it must be fresh again even if nothing happens."""
        return at + FRESH_EVERY if self._written is None else self._written + FRESH_EVERY


def page(reader: Reader, house: House, at: datetime) -> str:
    """The whole page as HTML."""
    return render(gather(reader, house, at))


def gather(reader: Reader, house: House, at: datetime) -> PageView:
    """Everything the page shows, in English throughout."""
    house = replace(house, phrases=load_phrases("en"))
    seen = look(reader, house, at)
    known = forecasts(reader, house, seen)
    events = reader.events(since=at - LOOKED_BACK, until=at, kinds=spells.KINDS)
    stretches = spells.spells_of(events)
    wrong = now.matters(reader, house, seen, known)
    return PageView(
        site=house.settings.site.name,
        made=record.made_said(house, at),
        machine_made=at.astimezone(house.zone).isoformat(timespec="minutes"),
        zone=house.settings.site.timezone,
        headline=now.headline(seen, wrong),
        matters=wrong,
        call_outs=now.call_outs(reader, house, at),
        source=now.source_said(house),
        stages=now.stages(house, seen, known),
        use=now.use_said(house),
        boxes=now.boxes(reader, house, seen),
        sites=sites.sites(reader, house, at),
        lane_days=lately.lane_days(house, at),
        lanes=lately.lanes(house, stretches, at),
        year=lately.year(house, stretches, at),
        trends=trends.trends(reader, house, stretches, events, at),
        events=tuple(record.event_view(house, one, at) for one in reversed(reader.events(limit=EVENTS_SHOWN))),
    )
