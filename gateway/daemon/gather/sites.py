"""Several sites in one store → one line for each: what is open there, when it was last heard, how its fortnight was.

Of another site only what the store holds is known: its names are the ids of its own configuration.
"""

from datetime import datetime

from gateway.callout.state import CallOut
from gateway.daemon.gather.lately import FORTNIGHT
from gateway.flow.house import House
from gateway.page import SiteView
from gateway.ports import Reader


def sites(reader: Reader, house: House, now: datetime) -> tuple[SiteView, ...]:
    """This site first; nothing where it is alone."""
    here = house.settings.site.name
    names = reader.sites()
    if len({*names, here}) < 2:
        return ()
    return tuple(
        _site(reader.of_site(name), house, name, now) for name in (here, *(one for one in names if one != here))
    )


def _site(reader: Reader, house: House, name: str, now: datetime) -> SiteView:
    here = name == house.settings.site.name
    newest = reader.events(limit=1, until=now)
    since = now - FORTNIGHT
    lows, silences = reader.counted(("low",), since, now), reader.counted(("silent",), since, now)
    counted = ((lows, "low spell"), (silences, "silence"))
    said = [f"{count} {what}{'' if count == 1 else 's'}" for count, what in counted if count]
    return SiteView(
        name=name,
        here=here,
        heard=house.phrases.time(newest[-1].at, now, house.zone) if newest else "never",
        open_matters=tuple(
            f"{_name(house, here, one.key)} {house.phrases.label(one.kind)}"
            for row in reader.call_outs()
            for one in CallOut.from_json(row.data).matters
        ),
        fortnight=", ".join(said) or "quiet",
    )


def _name(house: House, here: bool, key: str) -> str:
    what = key.partition(":")[2]
    if not here:
        return what
    return house.tanks[what].name if what in house.tanks else house.controller_name(what) or what
