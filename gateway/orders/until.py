"""`robin until sunday 18:00` → what stands before `until`, and the moment behind it.

The words come from the phrase file (`[until]`): `word`, what may be skipped, and the days. A day without a time lasts until its end; a time
without a day is the next such; a weekday is the next one whose moment is still to come, today's among them. Nothing is guessed: whatever
is left over makes it no moment.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta

from gateway.orders.spelling import bare, span_of, spelled

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
LONGEST = timedelta(days=366)
DAYS_END = time(23, 59)
_CLOCK = re.compile(r"([01]?\d|2[0-3])(?:[:.]([0-5]\d))?")
_ISO_T = re.compile(r"(?<=\d)T(?=\d)")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")

Words = Mapping[str, Sequence[str]]


def split_until(said: str, words: Words) -> tuple[str, str | None]:
    """(what stands before the word, what stands behind it; None: it is not there)."""
    pieces = said.split()
    until = spelled(words["word"])
    place = next((place for place, piece in enumerate(pieces) if bare(piece) in until), None)
    if place is None:
        return " ".join(pieces), None
    return " ".join(pieces[:place]), " ".join(pieces[place + 1 :])


def moment_of(said: str, words: Words, now: datetime) -> datetime | None:
    """The moment that is meant, as seen from `now` (local time of the site); None where it is none, is past, or is more than a year away."""
    skipped = spelled(words["skip"])
    pieces = [piece for part in _ISO_T.sub(" ", said).split() if (piece := bare(part)) and piece not in skipped]
    span = span_of(" ".join(pieces), words)
    at = now + span if span is not None else _on_a_day(pieces, words, now)
    return at if at is not None and now < at <= now + LONGEST else None


def _on_a_day(pieces: Sequence[str], words: Words, now: datetime) -> datetime | None:
    """`sunday`, `sunday 18:00`, `18:00`, `2026-12-06 9`."""
    if not 0 < len(pieces) <= 2:
        return None
    days = _days(pieces[0], words, now.date())
    clock = _clock(pieces[-1]) if len(pieces) == 2 or not days else DAYS_END
    if clock is None or (len(pieces) == 2 and not days):
        return None
    moments = [datetime.combine(day, clock, tzinfo=now.tzinfo) for day in days or _today_and_tomorrow(now.date())]
    return next((at for at in moments if at > now), None)


def _days(piece: str, words: Words, today: date) -> list[date]:
    """Which days a word can mean, the next first."""
    if _DATE.fullmatch(piece):
        try:
            return [date.fromisoformat(piece)]
        except ValueError:
            return []
    if piece in spelled(words["today"]):
        return [today]
    if piece in spelled(words["tomorrow"]):
        return [today + timedelta(days=1)]
    for number, name in enumerate(WEEKDAYS):
        if piece in spelled(words[name]):
            ahead = (number - today.weekday()) % 7
            return [today + timedelta(days=ahead), today + timedelta(days=ahead + 7)]
    return []


def _today_and_tomorrow(today: date) -> list[date]:
    return [today, today + timedelta(days=1)]


def _clock(piece: str) -> time | None:
    found = _CLOCK.fullmatch(piece)
    return time(int(found[1]), int(found[2] or 0)) if found else None
