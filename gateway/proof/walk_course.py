"""A walk and what was heard, or that nothing was → the walk after it, and what that says of the wiring.

Each float is moved twice by hand: to where it is not, and back. A float that stands up (its tank is known not to be low, or to be high) is
lowered first, any other lifted first. What the hand did is known only from what it was asked to do, so the order is strict: a float that
says "low" on lifting is wired or configured the wrong way round.

    lift → (the text that it should make | the other text: wrong meaning | another float: crossed | nothing) → lower → … → the next float
"""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts import FloatState
from gateway.facts.states.errands_and_tests import WalkedFloat, WalkLeg, WalkUnderWay

Motion = Literal["lift", "lower"]
Heard = Literal["as-expected", "wrong-meaning", "crossed", "settles", "not-ours"]
"""`crossed`: another float says what this one should; it is told like any other text all the same, for it may be real. `settles`: a float
that was tried already moves while it is let go. `not-ours`: no matter of the walk."""
Fault = Literal[
    "wrong-meaning",
    "crossed",
    "never-over",
    "never-active",
    "nothing",
    "number",
    "no-float",
    "unread",
    "slow",
    "undelivered",
]

SLOW = timedelta(seconds=120)
"""The longest an alarm may take over a supervised single path, SP2 (EN 50136-1, from memory)."""
FREED_AFTER = timedelta(minutes=2)
"""So long after its two steps a float may still move while it is let go; then it counts again, with what it said last."""
MOST_WITH_NOTHING = 2
"""So many floats in a row of which nothing at all came: nobody is there any more."""


def current(walk: WalkUnderWay) -> WalkedFloat | None:
    """The float that is being tried; None: all were, or nobody is there."""
    return walk.floats[walk.place] if walk.place < len(walk.floats) and not walk.interrupted else None


def motion_of(tried: WalkedFloat, step: int) -> Motion:
    """What the hand does in the float's step 0 or 1."""
    return "lower" if tried.up == (step == 0) else "lift"


def expected(tried: WalkedFloat, step: int) -> FloatState:
    """What the float should say of that: a low float is active when it hangs, a high one when it is lifted."""
    lifted = motion_of(tried, step) == "lift"
    return "active" if lifted == (tried.means == "high") else "idle"


def heard_now(walk: WalkUnderWay, key: str, means: Literal["low", "high"], state: FloatState) -> Heard:
    """What a text of that float, which means low or high, is to the walk."""
    tried = current(walk)
    if tried is not None and tried.key == key:
        if walk.step == 1 and tried.said == state:
            return "settles"  # said twice, or brought twice
        return "as-expected" if state == expected(tried, walk.step) else "wrong-meaning"
    if any(walked.key == key and walked.done_at is not None and not walked.freed for walked in walk.floats):
        return "settles"
    if tried is None:
        return "not-ours"
    moved_so = expected(replace(tried, means=means), walk.step)
    return "crossed" if state == moved_so else "not-ours"


def step_over(walk: WalkUnderWay, leg: WalkLeg | None, state: FloatState | None, now: datetime) -> WalkUnderWay:
    """The step is done: with the float's own text (`leg`), or without one."""
    tried = walk.floats[walk.place]
    if leg is not None and state is not None:
        tried = replace(tried, said=state, active=leg if state == "active" else tried.active)
        tried = replace(tried, idle=leg if state == "idle" else tried.idle)
    if walk.step == 0:
        return replace(walk, floats=_put(walk, tried), step=1, since=now)
    return next_place(replace(walk, floats=_put(walk, _judged(replace(tried, done_at=now)))), now)


def next_place(walk: WalkUnderWay, now: datetime) -> WalkUnderWay:
    """On to the next float that has not passed; interrupted where nothing at all came of the last ones."""
    place = walk.place + 1
    while place < len(walk.floats) and walk.floats[place].done_at is not None:
        place += 1
    last = [tried for tried in walk.floats[:place] if tried.done_at is not None][-MOST_WITH_NOTHING:]
    nobody = len(last) == MOST_WITH_NOTHING and all("nothing" in tried.faults for tried in last)
    return replace(walk, place=place, step=0, since=now, interrupted=nobody and place < len(walk.floats))


def with_fault(walk: WalkUnderWay, fault: Fault, what: str = "") -> WalkUnderWay:
    """One thing more that is wrong with the float being tried."""
    tried, said = walk.floats[walk.place], f"{fault}:{what}" if what else fault
    return (
        walk if said in tried.faults else replace(walk, floats=_put(walk, replace(tried, faults=(*tried.faults, said))))
    )


def _judged(tried: WalkedFloat) -> WalkedFloat:
    """What the two steps together say."""
    if any(
        fault.partition(":")[0] in ("wrong-meaning", "crossed", "number", "no-float", "unread")
        for fault in tried.faults
    ):
        return tried
    missing: Fault | None = None
    if tried.active is None and tried.idle is None:
        missing = "nothing"
    elif tried.idle is None:
        missing = "never-over"
    elif tried.active is None:
        missing = "never-active"
    slow = any(leg is not None and leg.heard_at - leg.stamp > SLOW for leg in (tried.active, tried.idle))
    found = (*((missing,) if missing else ()), *(("slow",) if slow else ()))
    return replace(tried, faults=(*tried.faults, *found))


def _put(walk: WalkUnderWay, tried: WalkedFloat) -> tuple[WalkedFloat, ...]:
    return (*walk.floats[: walk.place], tried, *walk.floats[walk.place + 1 :])
