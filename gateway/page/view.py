"""What the page shows, as values made ready to show: names, local times, shares. No store, no settings.

Shares run from 0 (bottom, earliest) to 1 (top, latest).
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class TankView:
    """One tank: its outline kind, where its floats sit, and the band of what is known of the water."""

    name: str
    state: str
    state_said: str
    since: str
    outline: str
    floats: tuple[tuple[str, float], ...]
    water: tuple[float, float, float] | None
    litres: str
    forecast: str
    cause: str
    feeds: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxView:
    """One controller."""

    name: str
    state: str
    state_said: str
    heard: str
    limit: str
    volts: str
    signal: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpellView:
    """A stretch on a lane, with what it was; `kind` low, high, silent, power, dry, note, off."""

    kind: str
    start: float
    end: float
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneView:
    """One line of the fortnight: a tank, a controller or the gateway."""

    name: str
    spells: tuple[SpellView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EventView:
    """One event in plain words, the raw text on demand."""

    at: str
    what: str
    where: str
    raw: str
    note: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SunView:
    """One month of a controller's outlook: charge and use as shares of the largest, days without sun."""

    month: str
    charge: float
    use: float
    charge_said: str
    use_said: str
    days: str
    short: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PageView:
    """The whole page."""

    language: str
    site: str
    made: str
    zone: str
    well: bool
    headline: str
    tanks: tuple[TankView, ...]
    boxes: tuple[BoxView, ...]
    open_matters: tuple[str, ...]
    days: tuple[tuple[str, float], ...]
    lanes: tuple[LaneView, ...]
    year: tuple[tuple[str, tuple[int, ...]], ...]
    figures: tuple[tuple[str, str], ...]
    sun: tuple[tuple[str, str, tuple[SunView, ...]], ...]
    events: tuple[EventView, ...]
