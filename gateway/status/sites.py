"""Several gateways on one store: each says what its house is like, so that any of them can show all."""

from collections.abc import Iterator
from dataclasses import dataclass

from gateway.facts.states.gateway_itself import PublishedSite
from gateway.ports import Reader
from gateway.settings.sharing import settings_from_shared
from gateway.site import Site, compile_site


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A site and how to look at it; `site` None: its gateway is of a version that this one cannot follow."""

    name: str
    site: Site | None
    reader: Reader


def places(reader: Reader, site: Site) -> tuple[Place, ...]:
    """This site, then every other that shares the store, by name."""
    return (Place(name=site.settings.site.name, site=site, reader=reader), *_others(reader))


def _others(reader: Reader) -> Iterator[Place]:
    for name, house in reader.state_of_others(PublishedSite).items():
        settings = settings_from_shared(house.configuration) if house is not None else None
        try:
            site = compile_site(settings) if settings is not None else None
        except (LookupError, ValueError, OSError):
            site = None  # a time zone or language that is not on this machine
        yield Place(name=name, site=site, reader=reader.of_site(name))
