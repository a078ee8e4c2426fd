"""The record and the site → one self-contained HTML page, and how it is written whole or not at all.

`page_values` asks `status` for what the page shows: the episodes of a year, sums of longer, the last hundred events; all index look-ups,
however long the history is. The template escapes everything and loads nothing; there is no script. What is routine is folded away.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from gateway.facts.event_kind import Tone
from gateway.page.alarm_month_lines import alarm_month_lines
from gateway.page.cards import ControllerCard, TankCard, controller_cards, source_words, tank_cards, use_words
from gateway.page.chart_groups import chart_groups
from gateway.page.charts import ChartGroup
from gateway.page.event_list import EventLine, record_lines
from gateway.page.local_calendar import day_and_time, when
from gateway.page.site_lines import SiteLine, site_lines
from gateway.page.tank_pictures import draw_outline, place_labels
from gateway.page.timeline import Lane, nothing_lately, timeline, timeline_days
from gateway.page.verdict_words import AlarmLine, VerdictWords, alarm_line, verdict_words
from gateway.page.year_calendar import YearCalendar, year_calendar
from gateway.phrases import cldr, with_page_words
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.episodes import GATEWAY, SHOWN_KINDS, Episode, episodes_of
from gateway.status.gateway_troubles import stopped_since
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import standing_alarms
from gateway.status.taps_verdict import taps_verdict
from gateway.status.who_is_there import who_is_there
from gateway.whole_file import write_whole

if TYPE_CHECKING:
    from jinja2 import Environment, Template

RELOAD_S = 300
"""So often a browser asks for a page that is kept fresh; there is no script."""
LANE_TONES: tuple[Tone, ...] = ("low", "dry", "high", "silent", "power", "off", "note")
LOOKED_BACK = timedelta(days=400)
"""Twelve whole months, and the episodes that reach into them."""
PAGE_MARK = '<meta name="generator" content="tank-gateway">'
BOOK_MARK = '<meta name="generator" content="tank-gateway, house book">'
"""A house book holds phone numbers, and is never put where a page lies that is served."""
"""By which a page of ours is known again before another is written over it; it stands near the beginning."""
MARK_WITHIN_OCTETS = 2000
ENTERABLE = 0o755
"""A web server is another user, and the service's own umask lets nobody in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """All that the page shows, in the order in which it stands there.

    `good_until`: by when another is written in its place, empty where none is; `good_until_clock`: the same as it is called beside `made`.
    `full`: nothing is folded away. `ask_word`, `dry_word`: what a contact texts. `stages`: the tanks from the house up to the source, those
    of one step together. `nothing_lately`: said in place of the lanes where all are empty.
    """

    language: str
    runs_right_to_left: bool
    full: bool
    site: str
    made: str
    machine_made: str
    good_until: str
    good_until_clock: str
    ask_word: str
    dry_word: str
    taps_are_dry: bool
    zone: str
    verdict: VerdictWords
    alarms: tuple[AlarmLine, ...]
    who: tuple[str, ...]
    source: str
    stages: tuple[tuple[TankCard, ...], ...]
    use: str
    controllers: tuple[ControllerCard, ...]
    sites: tuple[SiteLine, ...]
    lane_days: tuple[tuple[str, float], ...]
    lanes: tuple[Lane, ...]
    lane_key: tuple[tuple[Tone, str], ...]
    nothing_lately: str
    year: YearCalendar
    chart_groups: tuple[ChartGroup, ...]
    months: tuple[str, ...]
    events: tuple[EventLine, ...]


def make_page(
    reader: Reader, site: Site, at: datetime, *, good_until: datetime | None = None, full: bool = False
) -> str:
    """The page as HTML, in the household's language. `good_until`: by when another is written in its place; `full`: nothing is folded away,
    and every event stands in the record by itself."""
    site = replace(site, phrases=with_page_words(site.phrases))
    values = page_values(reader, site, at, good_until=good_until, full=full)
    return _template().render(page=values, t=site.phrases.page, mark=PAGE_MARK, reload_s=RELOAD_S)


def write_page(file: str, html: str, *, for_all: bool = False) -> None:
    """Replaces the file whole: a reader sees the old page or the new one. `for_all`: whoever may enter the folder may read it."""
    target = Path(file)
    made = not target.parent.exists()
    target.parent.mkdir(parents=True, exist_ok=True)
    if for_all and made:
        target.parent.chmod(ENTERABLE)
    write_whole(target, html.encode(), for_all=for_all)


def is_page(file: Path) -> bool:
    """Whether that file is a page of ours."""
    return _is_marked(file, PAGE_MARK)


def is_house_book(file: Path) -> bool:
    """Whether that file is a house book of ours."""
    return _is_marked(file, BOOK_MARK)


def _is_marked(file: Path, mark: str) -> bool:
    with file.open("rb") as there:
        return mark.encode() in there.read(MARK_WITHIN_OCTETS)


def page_values(
    reader: Reader, site: Site, at: datetime, *, good_until: datetime | None = None, full: bool = False
) -> Page:
    """Everything the page shows, in the language of the site's phrases, which have the page's words."""
    standing, words = site_standing(reader, site, at), site.phrases.order_words()
    alarms = standing_alarms(reader, standing)
    events = reader.events(since=at - LOOKED_BACK, until=at, kinds=SHOWN_KINDS)
    # whoever keeps the page fresh is at work
    off_since = stopped_since(reader, at) if good_until is None else None
    episodes, first = episodes_of(events), reader.first_event_at()
    if off_since is not None:
        episodes += (Episode(where=GATEWAY, family="off", began=off_since, ended=None),)
    lanes = timeline(site, episodes, at)
    verdict = taps_verdict(reader, standing, alarms)
    return Page(
        language=site.phrases.language,
        runs_right_to_left=cldr.runs_right_to_left(site.phrases.language),
        full=full,
        site=site.settings.site.name,
        made=day_and_time(site, at),
        machine_made=at.astimezone(site.zone).isoformat(timespec="minutes"),
        good_until=day_and_time(site, good_until) if good_until is not None else "",
        good_until_clock=when(site, good_until, at) if good_until is not None else "",
        ask_word=words["tanks"][0],
        dry_word=words["dry"][0],
        taps_are_dry=verdict.state == "dry",
        zone=site.settings.site.timezone,
        verdict=verdict_words(reader, standing, verdict, alarms, off_since=off_since),
        alarms=tuple(alarm_line(standing, alarm, above=alarm == verdict.matter) for alarm in alarms),
        who=who_is_there(reader, site, at),
        source=source_words(site),
        stages=tank_cards(standing),
        use=use_words(site),
        controllers=controller_cards(reader, standing),
        sites=site_lines(reader, site, at),
        lane_days=timeline_days(site, at),
        lanes=lanes,
        lane_key=tuple((tone, site.phrases.page(f"tone.{tone}")) for tone in LANE_TONES),
        nothing_lately=nothing_lately(site, lanes, first, at),
        year=year_calendar(site, episodes, first, at),
        chart_groups=chart_groups(reader, site, episodes, events, at),
        months=alarm_month_lines(reader, site, at),
        events=record_lines(reader, site, at, full=full),
    )


@lru_cache(maxsize=1)
def _template() -> "Template":
    environment = jinja_environment()
    environment.globals.update(draw_outline=draw_outline, place_labels=place_labels)
    return environment.get_template("page.html.j2")


def jinja_environment() -> "Environment":
    """Templates of this room: whatever was texted is escaped, and a name that the template has and we have not is an error, not an empty
    place."""
    # Imported here: 18 ms and 1.8 MB, which a daemon that keeps no page in a folder does without.
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("gateway.page", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
