"""Several sites in one store → for each other one: what is not well there, when it was last heard, how its fortnight was.

Each gateway publishes what its house is like (`status.sites`). Of one that did not, or of a version that this one cannot follow, only open
alarms are known, by the ids of its own configuration.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from gateway.page.local_calendar import when
from gateway.page.timeline import FORTNIGHT
from gateway.page.verdict_words import alarm_words
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.site_standing import site_standing
from gateway.status.sites import Place, places
from gateway.status.standing_alarms import standing_alarms


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteLine:
    """Another of the sites that share the store."""

    name: str
    heard: str
    open_alarms: tuple[str, ...]
    fortnight: str


def site_lines(reader: Reader, site: Site, now: datetime) -> tuple[SiteLine, ...]:
    """Those that published their house, then what else has a record there; nothing where this one is alone."""
    here, *published = places(reader, site)
    named = {place.name for place in (here, *published)}
    others = (Place(name=name, site=None, reader=reader.of_site(name)) for name in reader.sites() if name not in named)
    return tuple(_line(place, site, now) for place in (*published, *others))


def _line(place: Place, here: Site, now: datetime) -> SiteLine:
    newest = place.reader.events(limit=1, until=now)
    return SiteLine(
        name=place.name,
        heard=when(here, newest[-1].at, now) if newest else here.phrases.label("never-heard"),
        open_alarms=_as_its_page_says(place.reader, place.site, here, now)
        if place.site is not None
        else _by_its_alarms(place.reader, here),
        fortnight=_fortnight(place.reader, here, now),
    )


def _fortnight(reader: Reader, here: Site, now: datetime) -> str:
    """`2 low spells, 1 silence`."""
    since = now - FORTNIGHT
    counted = (("lows", reader.counted(("low",), since, now)), ("silences", reader.counted(("silent",), since, now)))
    words = [here.phrases.page(f"sites.{what}", count=count) for what, count in counted if count]
    return ", ".join(words) or here.phrases.page("sites.quiet")


def _as_its_page_says(reader: Reader, there: Site, here: Site, now: datetime) -> tuple[str, ...]:
    """What is not well there, in this site's words and time."""
    standing = site_standing(reader, replace(there, phrases=here.phrases, zone=here.zone), now)
    alarms = standing_alarms(reader, standing)
    return tuple(alarm_words(standing.site, alarm, now).rstrip(".") for alarm in alarms)


def _by_its_alarms(reader: Reader, here: Site) -> tuple[str, ...]:
    return tuple(f"{alarm.about} {here.phrases.label(alarm.kind)}" for alarm in reader.alarms())
