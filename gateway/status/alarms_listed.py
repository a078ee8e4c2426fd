"""The alarms that stand, each as a person or a program is shown it: since when, how urgent, who has it, who was told, what comes next.

What is folded in another stands within it. The most urgent first, then those on which water hangs, then the oldest.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from gateway.alarms.matters import most_urgent_first
from gateway.alarms.next_step import NextStep, next_step
from gateway.facts.alarms import Alarm, Telling
from gateway.facts.states.controllers_and_tanks import ReckonedEnd
from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_rounds import alarm_name
from gateway.status.alarm_words import no_later_than_told
from gateway.status.dry_taps import TAPS
from gateway.status.event_wording import told_of


@dataclass(frozen=True, slots=True, kw_only=True)
class TellingListed:
    """One contact was told. `state`: what became of the newest message, as an outward text's; None where it is not known any more."""

    contact: str
    at: datetime
    state: str | None
    answered_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmListed:
    """One alarm that stands. `says`: it in words, as the household hears it; `folded`: what it tells of too."""

    alarm: Alarm
    says: str
    next: NextStep | None
    told: tuple[TellingListed, ...]
    folded: tuple[Alarm, ...]


def alarms_listed(reader: Reader, site: Site, now: datetime, line: Line = "mobile") -> tuple[AlarmListed, ...]:
    """Everything that stands, the most urgent first."""
    standing = reader.alarms()
    heads = [alarm for alarm in standing if alarm.state != "folded"]
    pauses = {pause.tank: pause.until for pause in reader.pauses()}
    heads.sort(key=most_urgent_first)
    return tuple(
        AlarmListed(
            alarm=alarm,
            says=alarm_says(reader, site, now, alarm, line),
            next=_next(reader, site, alarm, pauses),
            told=_told(reader.tellings(alarm=alarm.number)),
            folded=tuple(folded for folded in standing if folded.state == "folded" and folded.folded_in == alarm.id),
        )
        for alarm in heads
    )


def level_says(reader: Reader, site: Site, now: datetime, tank: str, line: Line = "mobile") -> str | None:
    """What stands of a tank's level, after somebody said that it is well: a gauge says so, and a word moves no gauge."""
    levels = (alarm for alarm in reader.alarms() if alarm.tank == tank and alarm.kind in ("low", "high"))
    return next((alarm_says(reader, site, now, alarm, line) for alarm in levels), None)


def alarm_says(reader: Reader, site: Site, now: datetime, alarm: Alarm, line: Line = "mobile") -> str:
    """What its newest event says, in words."""
    event = reader.event(alarm.event) if alarm.event is not None else None
    if event is None:
        return alarm_name(site, alarm, line)
    told = no_later_than_told(site, now, alarm, told_of(reader, site, now, event))
    return site.phrases.message(told.key, told.values, segments=site.segments, line=line)


def _next(reader: Reader, site: Site, alarm: Alarm, pauses: Mapping[str, datetime]) -> NextStep | None:
    if alarm.state == "held":
        until = pauses.get(alarm.tank or "")
        return NextStep(what="work-over", at=until) if until is not None else None
    if not alarm.stands_by_itself:
        return None
    steps = (next_step(alarm, site.settings.call_out), _reckoned_over(reader, site, alarm))
    return min((step for step in steps if step is not None), key=lambda step: step.at, default=None)


def _reckoned_over(reader: Reader, site: Site, alarm: Alarm) -> NextStep | None:
    """Of dry taps, and of a float that never says that it is over."""
    floats = [placed for placed in site.floats_of(alarm.tank or "") if placed.float.means == alarm.kind]
    keys = [TAPS] if alarm.kind == "ran-dry" else [placed.key for placed in floats]
    dues = [end.due for key in keys if (end := reader.state(ReckonedEnd, key)) is not None]
    return NextStep(what="reckoned-over", at=max(dues)) if dues else None


def _told(tellings: Sequence[Telling]) -> tuple[TellingListed, ...]:
    """Each contact once, when first told, with what became of the newest message."""
    told: dict[str, TellingListed] = {}
    for telling in tellings:
        before = told.get(telling.contact)
        told[telling.contact] = TellingListed(
            contact=telling.contact,
            at=before.at if before else telling.at,
            state=_outward(telling) or (before.state if before else None),
            answered_at=telling.answered_at or (before.answered_at if before else None),
        )
    return tuple(told.values())


def _outward(telling: Telling) -> str | None:
    """The state as the contract's outward texts have it."""
    match telling.state:
        case "sending":
            return "waiting"
        case "joined":
            return "held"
        case state:
            return state
