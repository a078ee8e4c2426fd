"""Several sites in one store → one line for each: what is not well there, when it was last heard, how its fortnight was.

Each gateway publishes what its house is like (`flow.sites`). Of one that did not, or of a version that this one cannot follow, only open
call-outs are known, by the ids of its own configuration.
"""

from dataclasses import replace
from datetime import datetime

from gateway.alarms import CallOut
from gateway.page import SiteView
from gateway.page.lately import FORTNIGHT
from gateway.page.now import alarms
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.forecast import forecasts
from gateway.status.sites import Place, places
from gateway.status.snapshot import take_snapshot


def sites(reader: Reader, site: Site, now: datetime) -> tuple[SiteView, ...]:
    """This site first; nothing where it is alone."""
    known = places(reader, site)
    named = {place.name for place in known}
    others = (Place(name=name, site=None, reader=reader.of_site(name)) for name in reader.sites() if name not in named)
    found = (*known, *others)
    return tuple(_site(one, site, now) for one in found) if len(found) > 1 else ()


def _site(place: Place, here: Site, now: datetime) -> SiteView:
    reader = place.reader
    newest = reader.events(limit=1, until=now)
    since = now - FORTNIGHT
    lows, silences = reader.counted(("low",), since, now), reader.counted(("silent",), since, now)
    counted = ((lows, "low spell"), (silences, "silence"))
    said = [f"{count} {what}{'' if count == 1 else 's'}" for count, what in counted if count]
    return SiteView(
        name=place.name,
        here=place.name == here.settings.site.name,
        heard=here.phrases.time(newest[-1].at, now, here.zone) if newest else "never",
        open_alarms=_by_house(place, here, now) if place.site is not None else _by_call_outs(reader, here),
        fortnight=", ".join(said) or "quiet",
    )


def _by_house(place: Place, here: Site, now: datetime) -> tuple[str, ...]:
    """As its own page would say it, in this site's words and time."""
    assert place.site is not None
    site = replace(place.site, phrases=here.phrases, zone=here.zone)
    seen = take_snapshot(place.reader, site, now)
    found = alarms(place.reader, site, seen, forecasts(place.reader, site, seen))
    return tuple(f"{one.where} {one.what.rstrip('.')}" for one in found)


def _by_call_outs(reader: Reader, here: Site) -> tuple[str, ...]:
    return tuple(
        f"{one.key.partition(':')[2]} {here.phrases.label(one.kind)}"
        for row in reader.call_outs()
        for one in CallOut.from_json(row.data).alarms
    )
