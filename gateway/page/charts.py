"""What a chart of the page is made of, made ready to draw: its marks, its words, and the table behind it.

Shares run from 0 (bottom, earliest) to 1 (top, latest); `charts.html.j2` turns them into SVG.
"""

from dataclasses import dataclass
from typing import Literal

from gateway.facts.event_kind import Tone
from gateway.site import Site

MarkTone = Tone | Literal["water", "band", "ink", "limit", "none"]
"""How a mark looks: each has a colour and a shape or hatching of its own. `none`: words alone, in a key."""

LEAST_DRAWN = 3
"""Of what is drawn over twelve months, fewer make no chart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The table behind a chart; the first cell of each row names it."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One mark of a chart: a bar, a dot, a level line, a slope from `bottom` to `top` or a word, in shares of the plot."""

    shape: Literal["bar", "dot", "line", "slope", "word"]
    tone: MarkTone
    x: float
    width: float = 0.0
    bottom: float = 0.0
    top: float = 0.0
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """One chart with its title, its description, what it comes to in a sentence, and its table.

    `levels`, `times`: labels up and along, each with its share. `lacking`: with too little to draw, what is known and from when there
    will be a chart; it stands in the chart's place.
    """

    id: str
    title: str
    desc: str
    verdict: str
    levels: tuple[tuple[str, float], ...]
    times: tuple[tuple[str, float], ...]
    marks: tuple[Mark, ...]
    table: Table
    legend: tuple[tuple[MarkTone, str], ...] = ()
    worse: bool = False
    lacking: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartGroup:
    """The charts of one tank, one controller or the texts; `notes` say what cannot be charted, and why."""

    name: str
    charts: tuple[Chart, ...]
    notes: tuple[str, ...] = ()


def chart_group(name: str, charts: tuple[Chart, ...], notes: tuple[str, ...] = ()) -> ChartGroup:
    """The charts that have enough to draw; of the others is said why not, and from when."""
    instead = tuple(f"{chart.title}: {chart.lacking}" for chart in charts if chart.lacking)
    return ChartGroup(name=name, charts=tuple(chart for chart in charts if not chart.lacking), notes=(*notes, *instead))


def table_head(site: Site, *names: str) -> tuple[str, ...]:
    """The headings of a table, by their names in the page's `[head]`."""
    words = site.phrases.page_table("head")
    return tuple(words[name] for name in names)


def lacking(site: Site, known: str, drawn_from: str, *, day: str = "") -> str:
    """`Usually 3 h (1 seen); there is a chart from the third low spell on.`: what stands in a chart's place.

    `drawn_from`: a name of the page's `[from]`; where it is `day`, which.
    """
    when = site.phrases.page(f"from.{drawn_from}", day=day)
    return site.phrases.page("chart.lacking", known=known.rstrip("."), when=when)
