"""The store and the house → the page's values; and the page kept fresh in a folder.

Looks at what a page shows: the spells of a year, sums of longer, the last hundred events. Index look-ups, however long the history is.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from gateway.daemon.gather import lately, now, record, sites, trends
from gateway.flow import spells
from gateway.flow.forecast import forecasts
from gateway.flow.house import House
from gateway.flow.look import look
from gateway.page import PageView, render, write
from gateway.phrases import load_phrases
from gateway.ports import Reader

EVENTS_SHOWN = 100
FRESH_EVERY = timedelta(hours=1)
REST = timedelta(seconds=5)
"""A page is not written again sooner: on a small board one takes a good part of a second."""
AFTER_FAILURE = timedelta(minutes=1)
LOOKED_BACK = timedelta(days=400)
"""Twelve whole months, and the spells that reach into them."""


class Pages:
    """Writes `index.html` into the configured folder: on change, and at least hourly. A burst of changes costs one page."""

    def __init__(self, folder: str) -> None:
        self._file = str(Path(folder) / "index.html")
        self._tried: datetime | None = None
        self._rest = REST
        self._newest = self._seen = -1
        self._changed = False

    def fresh(self, reader: Reader, house: House, at: datetime) -> str | None:
        """The page if it is due, since something happened or an hour went by."""
        self._seen = reader.last_id("events")
        self._changed = self._seen != self._newest
        if at < self.due(at):
            return None
        self._tried, self._rest = at, AFTER_FAILURE
        return page(reader, house, at)

    def keep(self, html: str) -> None:
        """Writes what `fresh` gave. Raises OSError; so it is not done within the store's `read`, which takes that for the store's."""
        write(self._file, html, for_all=True)
        self._newest, self._changed, self._rest = self._seen, False, REST

    def due(self, at: datetime) -> datetime:
        """When it must be fresh again: soon after what changed it, or even if nothing happens."""
        if self._tried is None or self._tried > at:
            return at
        return self._tried + (self._rest if self._changed else FRESH_EVERY)


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
    lanes, first = lately.lanes(house, stretches, at), reader.first_event_at()
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
        lanes=lanes,
        nothing_lately=lately.nothing_lately(house, lanes, first, at),
        year=lately.year(house, stretches, first, at),
        trends=trends.trends(reader, house, stretches, events, at),
        events=tuple(record.event_view(house, one, at) for one in reversed(reader.events(limit=EVENTS_SHOWN))),
    )
