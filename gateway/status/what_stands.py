"""The alarms that stand → each in a few words, with its age and who has it: the first thing that TANKS, the week's report and the page say."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from gateway.alarms.matters import most_urgent_first
from gateway.facts.alarms import Alarm
from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.site import Site

LEAST_AGE = timedelta(minutes=1)
"""A younger matter is new: its time alone says so."""


def standing(reader: Reader) -> tuple[Alarm, ...]:
    """What should be dealt with, the most urgent first, what goes with another among it; not what is only for the record."""
    return tuple(sorted((alarm for alarm in reader.alarms() if alarm.priority != "record"), key=most_urgent_first))


def age_and_taker(site: Site, alarms: Sequence[Alarm], now: datetime, line: Line) -> str:
    """`3 h, Wren`: of several that are one matter the oldest's age; empty for what is new and nobody's."""
    if not alarms:
        return ""
    age = now - min(alarm.since for alarm in alarms)
    taker = next((alarm.taken_by for alarm in alarms if alarm.taken_by is not None), None)
    words = [site.phrases.format_span(age, line=line)] if age >= LEAST_AGE else []
    return ", ".join([*words, *([site.contact_name(taker) or ""] if taker is not None else [])])
