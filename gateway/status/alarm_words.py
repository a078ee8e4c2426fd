"""An alarm, a contact and why they hear of it now → the words of the message; and several alarms → one message that names all of them."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from gateway.alarms.matters import most_urgent_first
from gateway.facts import Event
from gateway.facts.alarms import Alarm, TellingWhy
from gateway.phrases.phrasebook import Line, When
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.site import Site
from gateway.status.alarm_rounds import alarm_name, alarms_said
from gateway.status.dry_taps import dry_answer
from gateway.status.event_wording import Told, how_to_answer, one_says_it, text_for, told_of
from gateway.status.forecast import forecast_of

ToldOnce = Callable[[Event], Told]
REMARKED: tuple[TellingWhy, ...] = ("reminder", "next-turn", "came-back", "sooner", "later")
"""Told again: why now is said right behind what stands, so that the matter keeps the first line."""
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
    segments = site.segments
    if why in ("taken", "unanswered"):
        theirs = [other for other in folded if why == "taken" or other.taken_by is None]
        values = {
            "who": site.contact_name(alarm.taken_by),
            "matters": alarms_said(site, [alarm, *theirs], contact.line),
            "reply": how_to_answer(site, contact) if why == "unanswered" else None,
        }
        return site.phrases.message(why, values, segments=segments, line=contact.line)
    text = _second_call(reader, site, now, alarm, contact) if why == "second-call" else None
    text = text or _to_who_said_so(reader, site, alarm, contact, why)
    text = text or _of_its_event(
        reader,
        site,
        now,
        alarm,
        contact,
        told_once,
        remark=_why_now(site, now, alarm, why, contact.line),
        asked=why != "warned",
    )
    return text if not folded or why == "changed" else _with_folded(site, text, folded, contact.line)


def several_said(
    reader: Reader, site: Site, now: datetime, alarms: Sequence[Alarm], contact: Contact, *, why: str = ""
) -> list[str]:
    """One message that names each, the most urgent first, in as many segments as it takes."""
    ordered = sorted(alarms, key=most_urgent_first)
    remark = site.phrases.label(why, line=contact.line) if why else ""
    texts = []
    for start in range(0, len(ordered), NAMED_AT_ONCE):
        named = ordered[start : start + NAMED_AT_ONCE]
        asked = any(alarm.priority == "urgent" for alarm in named)
        values = {
            "count": len(named),
            "list": "; ".join(_named(reader, site, now, alarm, contact.line) for alarm in named) + ".",
            "take": how_to_answer(site, contact) if asked else None,
        }
        texts.append(
            site.phrases.message("several", values, segments=MOST_SEGMENTS, line=contact.line, next_to_head=remark)
        )
    return texts


def told_once_of(reader: Reader, site: Site, now: datetime) -> ToldOnce:
    """`told_of`, worked out once an event however many contacts hear of it: the forecast in it is dear."""
    known: dict[int | None, Told] = {}

    def told_once(event: Event) -> Told:
        if event.id not in known:
            known[event.id] = told_of(reader, site, now, event)
        return known[event.id]

    return told_once


def _why_now(site: Site, now: datetime, alarm: Alarm, why: TellingWhy, line: Line) -> str:
    """Why the contact hears of it again; of a tank further up that became urgent, from when the house may be dry."""
    if why in REMARKED:
        return site.phrases.label(why, line=line)
    if why != "worse" or alarm.kind != "low":
        return ""
    if alarm.dry_early is None or alarm.dry_early <= now:
        return site.phrases.label(why, line=line)
    early = site.phrases.format_time(alarm.dry_early, now, site.zone, line=line, role="from")
    return site.phrases.label("worse-dry", line=line).format(time=early)


def _of_its_event(
    reader: Reader,
    site: Site,
    now: datetime,
    alarm: Alarm,
    contact: Contact,
    told_once: ToldOnce,
    *,
    remark: str,
    asked: bool,
) -> str:
    event = reader.event(alarm.event) if alarm.event is not None else None
    if event is None:
        return " ".join(words for words in (f"{alarm_name(site, alarm, contact.line)}.", remark) if words)
    told = no_later_than_told(site, now, alarm, told_once(event))
    return text_for(site, told, contact, urgent=asked and alarm.priority == "urgent", remark=remark)


def no_later_than_told(site: Site, now: datetime, alarm: Alarm, told: Told) -> Told:
    """Of a tank at the taps the early edge by which its second call comes, while it lies ahead: a forecast made since supposes that it is
    not dry yet, which nobody has looked at. Else a reminder between the two would say a day more than both."""
    early, newer = alarm.dry_early, told.values.get("dry_early")
    if (
        early is None
        or early <= now
        or not isinstance(newer, When)
        or newer.at <= early
        or alarm.tank not in site.house_tanks()
    ):
        return told
    key = "dry_alone" if "dry_alone" in told.values else "dry_early"
    edge = When(early, now, site.zone)
    return replace(told, values={**told.values, "dry_early": edge, key: edge})


def _to_who_said_so(reader: Reader, site: Site, alarm: Alarm, contact: Contact, why: TellingWhy) -> str | None:
    """The call to whoever texted that the taps are dry: what to do, and how to take it, in the one message that answers the text."""
    if why not in ("first", "warned") or alarm.priority != "urgent" or not said_it(reader, alarm, contact):
        return None
    return dry_answer(site, contact, take=how_to_answer(site, contact) if why == "first" else None)


def said_it(reader: Reader, alarm: Alarm, contact: Contact) -> bool:
    """Whether it is this contact who said that the taps are dry."""
    event = reader.event(alarm.event) if alarm.kind == "ran-dry" and alarm.event is not None else None
    return event is not None and event.sender == contact.number


def _second_call(reader: Reader, site: Site, now: datetime, alarm: Alarm, contact: Contact) -> str | None:
    """How long there is water and what to do before; None where nothing can be said of that."""
    early = alarm.dry_early
    if alarm.tank is None or early is None:
        return None
    forecast = forecast_of(reader, site, alarm.tank, now)
    _, likely, late = forecast.dry_at if forecast is not None and forecast.dry_at is not None else (None, None, early)
    if likely is not None and (likely < early or one_says_it(early, late, now)):
        likely = None  # what is before it is of this tank, and `early` of the house's, further down
    unheard = forecast.heard_until if forecast is not None else None
    values = {
        "tank": site.tank_name(alarm.tank),
        "early": When(early, now, site.zone),
        "left": max(early - now, timedelta(minutes=1)),
        "dry": When(likely, now, site.zone) if likely is not None else None,
        "unheard": When(unheard, now, site.zone) if unheard is not None else None,
        "take": how_to_answer(site, contact),
    }
    return site.phrases.message("second-call", values, segments=site.segments, line=contact.line)


def _with_folded(site: Site, text: str, folded: Sequence[Alarm], line: Line) -> str:
    """What goes with it is named behind it, and costs a further segment rather than a word of either."""
    return f"{text} {site.phrases.label('also', line=line)} {alarms_said(site, folded, line)}"


def _named(reader: Reader, site: Site, now: datetime, alarm: Alarm, line: Line) -> str:
    """`House tank LOW 07:15, dry from 12:30`."""
    since = site.phrases.format_time(alarm.since, now, site.zone, line=line)
    words = f"{alarm_name(site, alarm, line)} {since}"
    if not alarm.at_stake or alarm.dry_early is None or alarm.dry_early <= now:
        return words
    early = site.phrases.format_time(alarm.dry_early, now, site.zone, line=line, role="from")
    return f"{words}, {site.phrases.label('dry-from', line=line).format(time=early)}"
