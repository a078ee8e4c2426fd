"""An alarm, a contact and why they hear of it now → the words of the message; and several alarms → one message that names all of them."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from gateway.alarms.matters import most_urgent_first
from gateway.facts import Event
from gateway.facts.alarms import Alarm, TellingWhy
from gateway.gsm.segments import measure_text
from gateway.phrases.phrasebook import Line, When
from gateway.ports import Reader
from gateway.settings.models import Contact
from gateway.site import Site
from gateway.status.alarm_rounds import alarm_name, alarms_said
from gateway.status.event_wording import Told, how_to_answer, text_for, told_of
from gateway.status.forecast import forecast_of

ToldOnce = Callable[[Event], Told]
PREFIXES: tuple[TellingWhy, ...] = ("reminder", "next-turn", "came-back", "sooner")
MOST_SEGMENTS = 20
NAMED_AT_ONCE = 60
"""So many alarms find room in one message; a household that has more at once gets more messages."""


def words_of(
    reader: Reader,
    site: Site,
    now: datetime,
    alarm: Alarm,
    folded: Sequence[Alarm],
    contact: Contact,
    why: TellingWhy,
    told_once: ToldOnce,
) -> str:
    """What the contact is told of it."""
    segments = site.settings.limits.segments
    if why in ("taken", "unanswered"):
        values = {
            "who": site.contact_name(alarm.taken_by),
            "matters": alarms_said(site, [alarm, *folded], contact.line),
        }
        return site.phrases.message(why, values, segments=segments, line=contact.line)
    text = _second_call(reader, site, now, alarm, contact) if why == "second-call" else None
    text = text or _of_its_event(reader, site, alarm, contact, told_once)
    if why in PREFIXES or (why == "worse" and alarm.event is not None and alarm.kind == "low"):
        prefix = site.phrases.label(why, line=contact.line)
        # a further segment rather than "Reply OK" cut from the end
        whole = measure_text(f"{prefix} {text}").segments
        text = site.phrases.with_prefix(prefix, text, segments=max(segments, whole))
    return text if not folded or why == "changed" else _with_folded(site, text, folded, contact.line)


def several_said(
    reader: Reader, site: Site, now: datetime, alarms: Sequence[Alarm], contact: Contact, *, prefix: str = ""
) -> list[str]:
    """One message that names each, the most urgent first, in as many segments as it takes."""
    ordered = sorted(alarms, key=most_urgent_first)
    texts = []
    for start in range(0, len(ordered), NAMED_AT_ONCE):
        named = ordered[start : start + NAMED_AT_ONCE]
        asked = any(alarm.priority == "urgent" for alarm in named)
        values = {
            "count": len(named),
            "list": "; ".join(_named(reader, site, now, alarm, contact.line) for alarm in named) + ".",
            "take": how_to_answer(site, contact) if asked else None,
        }
        text = site.phrases.message("several", values, segments=MOST_SEGMENTS, line=contact.line)
        texts.append(f"{site.phrases.label(prefix, line=contact.line)} {text}" if prefix else text)
    return texts


def told_once_of(reader: Reader, site: Site, now: datetime) -> ToldOnce:
    """`told_of`, worked out once an event however many contacts hear of it: the forecast in it is dear."""
    known: dict[int | None, Told] = {}

    def told_once(event: Event) -> Told:
        if event.id not in known:
            known[event.id] = told_of(reader, site, now, event)
        return known[event.id]

    return told_once


def _of_its_event(reader: Reader, site: Site, alarm: Alarm, contact: Contact, told_once: ToldOnce) -> str:
    event = reader.event(alarm.event) if alarm.event is not None else None
    if event is None:
        return f"{alarm_name(site, alarm, contact.line)}."
    return text_for(site, told_once(event), contact, urgent=alarm.priority == "urgent")


def _second_call(reader: Reader, site: Site, now: datetime, alarm: Alarm, contact: Contact) -> str | None:
    """How long there is water and what to do before; None where nothing can be said of that."""
    early = alarm.dry_early
    if alarm.tank is None or early is None:
        return None
    forecast = forecast_of(reader, site, alarm.tank, now)
    likely = forecast.dry_at[1] if forecast is not None and forecast.dry_at is not None else None
    if likely is not None and likely < early:
        likely = None  # of this tank; `early` is of the house's, further down
    values = {
        "tank": site.tank_name(alarm.tank),
        "early": When(early, now, site.zone),
        "left": max(early - now, timedelta(minutes=1)),
        "dry": When(likely, now, site.zone) if likely is not None else None,
        "take": how_to_answer(site, contact),
    }
    return site.phrases.message("second-call", values, segments=site.settings.limits.segments, line=contact.line)


def _with_folded(site: Site, text: str, folded: Sequence[Alarm], line: Line) -> str:
    """What goes with it is named behind it, and costs a further segment rather than a word of either."""
    return f"{text} {site.phrases.label('also', line=line)} {alarms_said(site, folded, line)}"


def _named(reader: Reader, site: Site, now: datetime, alarm: Alarm, line: Line) -> str:
    """`House tank LOW 07:15, dry from 12:30`."""
    since = site.phrases.format_time(alarm.since, now, site.zone, line=line)
    words = f"{alarm_name(site, alarm, line)} {since}"
    if not alarm.at_stake or alarm.dry_early is None or alarm.dry_early <= now:
        return words
    early = site.phrases.format_time(alarm.dry_early, now, site.zone, line=line)
    return f"{words}, {site.phrases.label('dry-from', line=line).format(time=early)}"
