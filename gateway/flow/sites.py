"""Several gateways on one store: each says what its house is like, so that any of them can show all.

Mark: `house`, what `settings.shared` makes of the configuration; written when it has changed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from gateway.flow.house import House, Moment, furnish
from gateway.ports import Reader
from gateway.settings.shared import of_shared, shared

HOUSE = "house"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A site and how to look at it; `house` None: its gateway is of a version that this one cannot follow."""

    site: str
    house: House | None
    reader: Reader


def publish(moment: Moment) -> None:
    """What the others may know of this house."""
    said = shared(moment.house.settings)
    if moment.tx.mark(HOUSE) != said:
        moment.tx.set_mark(HOUSE, said)


def places(reader: Reader, house: House) -> tuple[Place, ...]:
    """This site, then every other that shares the store, by name."""
    return (Place(site=house.settings.site.name, house=house, reader=reader), *_others(reader))


def _others(reader: Reader) -> Iterator[Place]:
    for site, said in reader.others(HOUSE).items():
        settings = of_shared(said)
        try:
            house = furnish(settings) if settings is not None else None
        except (LookupError, ValueError, OSError):
            house = None  # a time zone or language that is not on this machine
        yield Place(site=site, house=house, reader=reader.of_site(site))
