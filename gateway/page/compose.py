"""The store and the house → the page's values.

Looks at what a page shows: the episodes of a year, sums of longer, the last hundred events. Index look-ups, however long the history is.
"""

from dataclasses import replace
from datetime import datetime, timedelta

from gateway.page import PageView, lately, now, record, render, sites, trends
from gateway.phrases import load_phrases
from gateway.ports import Reader
from gateway.site import Site
from gateway.status import episodes as episodes
from gateway.status.forecast import forecasts
from gateway.status.snapshot import take_snapshot

EVENTS_SHOWN = 100
LOOKED_BACK = timedelta(days=400)
"""Twelve whole months, and the episodes that reach into them."""


def page(reader: Reader, site: Site, at: datetime) -> str:
    """The whole page as HTML."""
    return render(gather(reader, site, at))


def gather(reader: Reader, site: Site, at: datetime) -> PageView:
    """Everything the page shows, in English throughout."""
    site = replace(site, phrases=load_phrases("en"))
    seen = take_snapshot(reader, site, at)
    known = forecasts(reader, site, seen)
    events = reader.events(since=at - LOOKED_BACK, until=at, kinds=episodes.SHOWN_KINDS)
    stretches = episodes.episodes_of(events)
    lanes, first = lately.lanes(site, stretches, at), reader.first_event_at()
    wrong = now.alarms(reader, site, seen, known)
    return PageView(
        site=site.settings.site.name,
        made=record.made_said(site, at),
        machine_made=at.astimezone(site.zone).isoformat(timespec="minutes"),
        zone=site.settings.site.timezone,
        headline=now.headline(seen, wrong),
        alarms=wrong,
        call_outs=now.call_outs(reader, site, at),
        source=now.source_said(site),
        stages=now.stages(site, seen, known),
        use=now.use_said(site),
        boxes=now.boxes(reader, site, seen),
        sites=sites.sites(reader, site, at),
        lane_days=lately.lane_days(site, at),
        lanes=lanes,
        nothing_lately=lately.nothing_lately(site, lanes, first, at),
        year=lately.year(site, stretches, first, at),
        trends=trends.trends(reader, site, stretches, events, at),
        events=tuple(record.event_view(site, one, at) for one in reversed(reader.events(limit=EVENTS_SHOWN))),
    )
