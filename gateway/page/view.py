"""What the page shows, as values made ready to show: names, local times, shares. No store, no settings.

Shares run from 0 (bottom, earliest) to 1 (top, latest).
"""

from dataclasses import dataclass
from typing import Literal

Tone = Literal["water", "band", "low", "high", "dry", "silent", "power", "off", "note", "ink", "limit", "none"]
"""How a mark looks: each has a colour and a shape or hatching of its own. `none`: words alone, in a key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmView:
    """One thing that is not well: where, what, what to do; `link` is the id of what it is about."""

    where: str
    what: str
    more: tuple[str, ...] = ()
    link: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselView:
    """A tank's outline: its kind, width over height, and where its sides are not straight half widths from bottom to top."""

    kind: str
    ratio: float = 0.8
    sides: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatView:
    """One float switch at its level."""

    means: Literal["low", "high"]
    level: float
    said: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TankView:
    """One tank: its vessel, where its floats sit, and the band of what is known of the water.

    `water`: what is surely there, what is likely (None where only the floats speak), what there is at the most.
    """

    id: str
    name: str
    state: str
    state_said: str
    since: str
    vessel: VesselView
    floats: tuple[FloatView, ...]
    water: tuple[float, float | None, float] | None
    litres: str
    forecast: str
    fed_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxView:
    """One controller. `numbers`: label and value of each that its texts tell. `battery`: how its battery goes, in a sentence."""

    id: str
    name: str
    state: str
    state_said: str
    heard: str
    limit: str
    numbers: tuple[tuple[str, str], ...]
    battery: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TableView:
    """The table behind a chart."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One mark of a chart: a bar, a dot, a level line or a word, in shares of the plot."""

    shape: Literal["bar", "dot", "line", "word"]
    tone: Tone
    x: float
    width: float = 0.0
    bottom: float = 0.0
    top: float = 0.0
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartView:
    """One chart with its title, its description, what it comes to in a sentence, and its table.

    `lacking`: with too little to draw, what is known and from when there will be a chart; it stands in the chart's place.
    """

    id: str
    title: str
    desc: str
    verdict: str
    levels: tuple[tuple[str, float], ...]
    times: tuple[tuple[str, float], ...]
    marks: tuple[Mark, ...]
    table: TableView
    legend: tuple[tuple[Tone, str], ...] = ()
    worse: bool = False
    lacking: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendView:
    """The charts of one tank, one controller or the gateway; what cannot be charted is said."""

    name: str
    charts: tuple[ChartView, ...]
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EpisodeView:
    """A stretch on a lane, with what it was."""

    tone: Tone
    start: float
    end: float
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneView:
    """One line of the fortnight: a tank, a controller or the gateway."""

    name: str
    episodes: tuple[EpisodeView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """One day of the calendar; `tone` is its weightiest alarm, `long`: a tank was low for much of it; `noted`: somebody wrote a note."""

    number: int
    tone: Tone | None = None
    said: str = ""
    long: bool = False
    noted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthView:
    """One month: how many days of its first week belong to the month before, and its days; None is still to come."""

    name: str
    blank: int
    days: tuple[DayView | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearView:
    """A year of days, the names of the week's days, what was on which day, and on which weekdays low episodes began.

    `nothing`: what is said in its place where no day is marked.
    """

    weekdays: tuple[str, ...]
    months: tuple[MonthView, ...]
    days: TableView
    by_weekday: ChartView
    nothing: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EventView:
    """One event in plain words, the raw text on demand. `routine`: nothing that anybody need look at."""

    at: str
    machine_at: str
    what: str
    raw: str
    tone: Tone | None = None
    routine: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteView:
    """One of the sites that share the store."""

    name: str
    here: bool
    heard: str
    open_alarms: tuple[str, ...]
    fortnight: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PageView:
    """The whole page. `stages`: the tanks from source to house, those of one step together.

    `nothing_lately`: what is said in place of the lanes where they are all empty.
    """

    site: str
    made: str
    machine_made: str
    zone: str
    headline: str
    alarms: tuple[AlarmView, ...]
    call_outs: tuple[str, ...]
    source: str
    stages: tuple[tuple[TankView, ...], ...]
    use: str
    boxes: tuple[BoxView, ...]
    sites: tuple[SiteView, ...]
    lane_days: tuple[tuple[str, float], ...]
    lanes: tuple[LaneView, ...]
    nothing_lately: str
    year: YearView
    trends: tuple[TrendView, ...]
    events: tuple[EventView, ...]
