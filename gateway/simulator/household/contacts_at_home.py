"""The contacts as people: asleep or awake, quick or slow, on their way to mend what is wrong.

What they do is an assumption, said in the summary: awake from half past six to ten, four of five take what they are asked to take, a
message wakes one sleeper in three, and nobody walks up the hill before seven or after six in the evening.
"""

import math
import random
import re
from dataclasses import dataclass
from datetime import datetime, time, timedelta, tzinfo

from gateway.settings.people_tables import Contact

WAKES_AT, SLEEPS_AT = time(6, 30), time(22, 0)
WALKS_FROM, WALKS_UNTIL = time(7, 0), time(18, 0)
TAKES_IT = 0.8
WOKEN = 1 / 3
READS_AFTER_MIN = 6.0
READS_SD = 0.9
REPORTS_DRY = 0.7
ASKED = re.compile(r"\bOK\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """Something a person does: texts (`text`), or is where things can be mended (`mends`)."""

    at: datetime
    contact: Contact
    text: str = ""
    mends: bool = False


class Person:
    """One contact."""

    def __init__(self, contact: Contact, zone: tzinfo, seed: int) -> None:
        self.contact = contact
        self._zone = zone
        self._rng = random.Random(f"{seed} person {contact.id}")

    def awake(self, at: datetime) -> bool:
        """Whether they are up."""
        return WAKES_AT <= at.astimezone(self._zone).time() < SLEEPS_AT

    def gets(self, text: str, at: datetime, *, something_is_wrong: bool) -> tuple[Deed, ...]:
        """What comes of a message: perhaps an OK where it is asked for, and a walk where something is wrong."""
        woken = self._rng.random() < WOKEN
        read_at = at if self.awake(at) or woken else self._next(at, WAKES_AT)
        read_at += self._minutes(READS_AFTER_MIN, READS_SD)
        asked = asks_for_ok(text)
        if not (asked or something_is_wrong) or self._rng.random() >= TAKES_IT:
            return ()
        may_answer = asked and self.contact.may_ask and self.contact.line == "mobile"
        answer = (Deed(at=read_at, contact=self.contact, text="OK"),) if may_answer else ()
        return (*answer, self.goes(read_at))

    def finds_taps_dry(self, at: datetime) -> tuple[Deed, ...]:
        """Nothing comes from the tap: they go and look; most say so before, if they may."""
        noticed = (at if self.awake(at) else self._next(at, WAKES_AT)) + self._minutes(20, 0.8)
        says_so = self.contact.line == "mobile" and self.contact.may_ask and self._rng.random() < REPORTS_DRY
        report = (Deed(at=noticed, contact=self.contact, text="DRY"),) if says_so else ()
        return (*report, self.goes(noticed))

    def looks_again(self, at: datetime) -> tuple[Deed, ...]:
        """The taps are still dry: they go once more next day."""
        return (self.goes(self._next(at, WAKES_AT)),)

    def goes(self, at: datetime) -> Deed:
        """There and done, by daylight."""
        done = at + self._minutes(120, 0.5)
        walking = done.astimezone(self._zone).time()
        if not WALKS_FROM <= walking < WALKS_UNTIL:
            done = self._next(done, WALKS_FROM) + self._minutes(60, 0.3)
        return Deed(at=done, contact=self.contact, mends=True)

    def _minutes(self, median: float, sd: float) -> timedelta:
        return timedelta(minutes=round(median * math.exp(self._rng.gauss(0, sd)), 2))

    def _next(self, at: datetime, clock: time) -> datetime:
        local = at.astimezone(self._zone)
        then = datetime.combine(local.date(), clock, tzinfo=self._zone)
        return (then if then > local else then + timedelta(days=1)).astimezone(at.tzinfo)


def asks_for_ok(text: str) -> bool:
    """Whether a message asks to be taken: the word stands so in every language we have."""
    return ASKED.search(text) is not None
