"""The record → its lines on the page in plain words, the newest first; signs of life are a count a day."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import KINDS, NUMBER_FIELDS, Event, kinds_where, numbers_in
from gateway.facts.event_kind import Tone
from gateway.facts.harmless import harmless
from gateway.page.cards import number_words
from gateway.page.local_calendar import day_start, local_day, measure, short_day
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.event_sentence import RAW_SHOWN_CHARS

EVENTS_SHOWN = 100
COUNTED_DAYS = 14
SIGNS_OF_LIFE = ("alive", "reading", "level")
NOT_WELL = {"still": "part.again", "settling": "part.settling"}
"""A sign of life with such a detail tells of a float, an input or the supply without a change, and not of being well."""
NOTABLE = kinds_where(lambda kind: not kind.routine)
KEYS_SHOWN = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class EventLine:
    """One event in plain words, the raw text on demand. `routine`: nothing that anybody need look at."""

    at: str
    machine_at: str
    what: str
    raw: str = ""
    tone: Tone | None = None
    routine: bool = False


def record_lines(reader: Reader, site: Site, now: datetime, *, full: bool) -> tuple[EventLine, ...]:
    """What matters of the last hundred events, and how many signs of life each day of a fortnight had; `full`: each event by itself."""
    if full:
        return tuple(event_line(site, event, now) for event in reversed(reader.events(limit=EVENTS_SHOWN)))
    lines = [(event.at, event_line(site, event, now)) for event in reader.events(kinds=NOTABLE, limit=EVENTS_SHOWN)]
    lines += _days_of_life(reader, site, now)
    return tuple(line for _, line in sorted(lines, key=lambda line: line[0], reverse=True))


def event_line(site: Site, event: Event, now: datetime) -> EventLine:
    """The line; a kind that a later program wrote is told by its bare name."""
    local, kind = event.at.astimezone(site.zone), KINDS.get(event.kind)
    year = "" if local.year == now.astimezone(site.zone).year else f" {local.year}"
    sentence = event_words(site, event)
    is_note = event.kind == "note"  # its text stands in the line itself, as its writer ended it
    return EventLine(
        at=f"{short_day(site, local)}{year} {local:%H:%M}",
        machine_at=local.isoformat(timespec="minutes"),
        what=sentence if is_note else f"{sentence}.",
        raw="" if is_note else _cut_text(site, event.text or ""),
        tone=kind.tone if kind else None,
        routine=kind is not None and kind.routine,
    )


def event_words(site: Site, event: Event) -> str:
    """`House tank is no longer low after 4 h`; in English as `facts.kinds` has it."""
    kind = KINDS.get(event.kind)
    if kind is None:
        return str(event.kind).replace("-", " ")
    told_again = next((word for word in NOT_WELL if word in event.detail), None) if event.kind == "alive" else None
    if told_again is not None:
        fillings = _fillings(site, event)
        return site.phrases.page(NOT_WELL[told_again], where=fillings["where"], numbers=fillings["numbers"])
    template = site.phrases.page_table("event").get(event.kind, kind.page)
    return template.format(**_fillings(site, event))


def _days_of_life(reader: Reader, site: Site, now: datetime) -> Iterator[tuple[datetime, EventLine]]:
    """`12 signs of life`, for each day that had one."""
    today = local_day(site, now)
    for ago in range(COUNTED_DAYS):
        day = today - timedelta(days=ago)
        start = day_start(site, day)
        end = min(now, day_start(site, day + timedelta(days=1)))
        count = reader.counted(SIGNS_OF_LIFE, start, end)
        if count:
            what = site.phrases.page("record.signs", count=count)
            yield end, EventLine(at=short_day(site, start), machine_at=day.isoformat(), what=what, routine=True)


def _fillings(site: Site, event: Event) -> dict[str, str]:
    """What may stand in a kind's sentence."""
    say, who = site.phrases.page, event.detail.get("who")
    by = "part.told-by" if event.kind == "ran-dry" else "part.by"
    return {
        "where": site.tank_name(event.tank) or site.controller_name(event.controller) or say("part.unknown"),
        "lasted": _lasted(site, event),
        "who": say(by, who=str(who)) if who else "",
        "who_first": str(who or say("part.somebody")),
        "numbers": _numbers(site, event),
        "errand": str(event.detail.get("errand", "")),
        "text": _cut_text(site, event.text or ""),
        "named": " ".join(str(event.detail[key]) for key in ("name", "says") if event.detail.get(key)),
        "level": _level(site, event),
        "was": str(event.detail.get("was", "")),
        "changed": _changed_keys(event),
        "now": str(event.detail.get("now", "")),
    }


def _cut_text(site: Site, text: str) -> str:
    """The text with nothing harmful in it, or its beginning and how much is left out."""
    shown = harmless(text)
    more = len(shown) - RAW_SHOWN_CHARS
    return shown if more <= 0 else site.phrases.page("part.cut", text=shown[:RAW_SHOWN_CHARS], count=str(more))


def _changed_keys(event: Event) -> str:
    """`: limits.segments, contacts[wren].quiet …`; from what to what stands in the history."""
    keys = [str(change["key"]) for change in event.detail.get("changes", ())]
    return f": {', '.join(keys[:KEYS_SHOWN])}{' …' if len(keys) > KEYS_SHOWN else ''}" if keys else ""


def _lasted(site: Site, event: Event) -> str:
    """` after 2 h`; a first idle reading ends nothing that lasted."""
    lasted_s = event.detail.get("lasted_s")
    if event.detail.get("first") or not isinstance(lasted_s, int | float) or lasted_s <= 0:
        return ""
    return site.phrases.page("part.lasted", span=timedelta(seconds=lasted_s))


def _numbers(site: Site, event: Event) -> str:
    labels = site.phrases.page_table("box")
    told = [
        number_words(site, NUMBER_FIELDS[name], value)
        + ("" if NUMBER_FIELDS[name].unit else f" ({labels.get(name, name)})")
        for name, value in numbers_in(event.detail).items()
        if name != "level"
    ]
    return f": {', '.join(told)}" if told else ""


def _level(site: Site, event: Event) -> str:
    """` 1.13 m, 3550 l`; of one that does not count what was read."""
    height, litres, read = (event.detail.get(name) for name in ("level_m", "litres", "level"))
    if not isinstance(height, int | float):
        known = isinstance(read, int | float)
        return (
            site.phrases.page("part.not-believed", read=f"{read:g}") if known else site.phrases.page("part.not-known")
        )
    litres_told = f", {measure(site, litres, 'litres')}" if isinstance(litres, int | float) else ""
    return f" {measure(site, height, 'metres')}{litres_told}"
