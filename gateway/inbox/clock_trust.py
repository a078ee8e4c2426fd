"""Our own clock against the network's stamps → what our clock is worth, and how far it is off.

A board wakes in 1970, or with the time of its last shutdown, or somebody sets it wrongly; nothing but the stamps on the texts tells. Trust
is earned: by the system, which knows whether its clock follows a time server, or by a stamp that agrees with our clock. A clock that
earned it is not shaken by stamps that disagree: then the centre is wrong. Of any other clock two stamps that tell the same difference
are believed. Stepping the clock ends all trust (`after_a_step`). The table of it stands in DEVELOPERS.md.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

from gateway.facts.states.gateway_itself import ClockEvidence

CLOCK_FLOOR = datetime(2026, 1, 1, tzinfo=UTC)
"""No text of this program can be older than the program: a board clock before this was never set (fault 30)."""

PROGRAM_ENDS = CLOCK_FLOOR + timedelta(days=365 * 40)
"""Nor newer than any board that it runs on."""

CLOCK_SKEW = timedelta(minutes=15)
"""How far a network's clock may run ahead of ours and still be believed (common practice)."""

USUAL_DELAY = timedelta(minutes=5)
"""A stamp no older than this when its text comes agrees with our clock."""

ABSURD = timedelta(days=60)
"""A stamp that is further away from a clock that was set says nothing of either."""

SAME_OFFSET = timedelta(minutes=1)
"""Two stamps tell the same difference where theirs are no further apart (a centre may stamp whole minutes)."""

APART = timedelta(minutes=2)
"""Stamps of one moment prove nothing: one that stands still agrees with itself, and texts that waited together were late alike."""

TRUST_LASTS, TRUST_NOTED_EVERY = timedelta(days=7), timedelta(days=1)
"""A clock drifts; so long after the last stamp that agreed with it others may speak against it again."""

ENOUGH = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockStanding:
    """`verdict`: whether it is said to be right, wrong, or (after one stamp alone) nothing is said. `never_set`: it shows a time before
    this program. `confirmed`: by the system or by a stamp. `offset`: what must be added to it, where that is known; `may_be_off`: where one
    stamp alone says so."""

    verdict: Literal["right", "wrong", "doubtful"] = "right"
    never_set: bool = False
    confirmed: bool = False
    offset: timedelta | None = timedelta(0)
    may_be_off: timedelta = timedelta(0)

    def network_time(self, now: datetime) -> datetime | None:
        """Our clock's time put right; None where nothing says how."""
        return None if self.offset is None else now + self.offset


def clock_trusted(now: datetime) -> bool:
    """Whether the wall clock was ever set."""
    return now >= CLOCK_FLOOR


def clock_standing(now: datetime, evidence: ClockEvidence | None, *, synchronised: bool = False) -> ClockStanding:
    """What the clock is worth by what was found of it."""
    never_set = not clock_trusted(now)
    if synchronised and not never_set:
        return ClockStanding(confirmed=True)
    if evidence is None or evidence.offset_s is None:
        agreed = evidence is not None and _agreed_lately(evidence, now)
        if never_set:
            return ClockStanding(verdict="wrong", never_set=True, offset=None)
        return ClockStanding(confirmed=agreed)
    offset = timedelta(seconds=evidence.offset_s)
    known = evidence.times >= ENOUGH
    if known or never_set:
        return ClockStanding(verdict="wrong", never_set=never_set, offset=offset if known else None, may_be_off=offset)
    if offset > CLOCK_SKEW:
        # no text comes before it was sent: our clock is behind, or the centre's is ahead
        return ClockStanding(verdict="doubtful", offset=None, may_be_off=offset)
    return ClockStanding()


def weigh_stamp(
    evidence: ClockEvidence | None, stamp: datetime, now: datetime, sender: str, *, synchronised: bool = False
) -> ClockEvidence | None:
    """What is known of our clock once a text with that stamp came now."""
    offset = stamp - now
    if synchronised or -USUAL_DELAY <= offset <= CLOCK_SKEW:
        return _agreeing(evidence, now)
    if evidence is not None and _agreed_lately(evidence, now):
        return evidence
    if abs(offset) > ABSURD and clock_trusted(now):
        return evidence
    if not CLOCK_FLOOR <= stamp < PROGRAM_ENDS:
        return evidence
    first = ClockEvidence(offset_s=offset.total_seconds(), heard_at=now, sender=sender, times=1)
    if evidence is None or evidence.offset_s is None or evidence.heard_at is None:
        return first
    if abs(offset - timedelta(seconds=evidence.offset_s)) > SAME_OFFSET:
        return first
    others = offset > CLOCK_SKEW and sender != evidence.sender
    if not others and abs(now - evidence.heard_at) < APART:
        return evidence
    return ClockEvidence(
        offset_s=offset.total_seconds(), heard_at=now, sender=sender, times=min(evidence.times + 1, ENOUGH)
    )


def after_a_step(evidence: ClockEvidence | None, now: datetime) -> ClockEvidence | None:
    """What is left of it when the clock was set, or the gateway starts: it cannot be earlier than the network was by then."""
    if evidence is None or evidence.offset_s is None or evidence.heard_at is None:
        return None
    behind = evidence.heard_at + timedelta(seconds=evidence.offset_s) - now
    if behind <= CLOCK_SKEW:
        return None
    return ClockEvidence(offset_s=behind.total_seconds(), heard_at=now, sender=evidence.sender, times=1)


def _agreeing(evidence: ClockEvidence | None, now: datetime) -> ClockEvidence:
    if evidence is None or evidence.agreed_at is None:
        return ClockEvidence(agreed_at=now)
    noted = timedelta(0) <= now - evidence.agreed_at < TRUST_NOTED_EVERY
    return evidence if noted else ClockEvidence(agreed_at=now)


def _agreed_lately(evidence: ClockEvidence, now: datetime) -> bool:
    return evidence.agreed_at is not None and timedelta(0) <= now - evidence.agreed_at < TRUST_LASTS
