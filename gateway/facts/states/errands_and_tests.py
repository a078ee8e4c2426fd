"""What is remembered of errands under way, and of drills and walks."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from gateway.facts.readings import FloatState
from gateway.facts.states.declared import State, state

# --- errands: of a controller, of a contact ---


@state("errand-under-way")
class ErrandUnderWay(State):
    """What a controller was sent and what has not ended. `order`: the event that ordered it; `message`: its text in the outbox.

    `by`: the contact who ordered it (None: the command line, or, of its `own`, the gateway that asks before a silence).

    `put_at`: when this try went into the outbox; `sent_at`: when it left, or may have. `other`: a text that came since and may be an answer.
    """

    order: int
    errand: str
    by: str | None
    own: bool
    put_at: datetime
    message: int
    tries: int = 1
    sent_at: datetime | None = None
    other: str | None = None
    other_at: datetime | None = None


@state("box-clock")
class BoxClock(State):
    """How far a controller's own clock was ahead (negative: behind) of the network's stamp on its newest text with a time in it."""

    ahead_s: float
    at: datetime


@state("switched")
class Switched(State):
    """An errand that switches, as `<controller>:<errand>`: it has left, or may have, and ends at `until`.

    `message`: the text that ends it, once it is in the outbox; `told`: that it could not leave.
    """

    by: str | None
    since: datetime
    until: datetime
    message: int | None = None
    told: bool = False


@state("errand-code")
class ErrandCode(State):
    """The code that was sent to a contact last, and what it confirms; `used`, or taken back: it confirms nothing any more."""

    code: str
    controller: str
    errand: str
    made_at: datetime
    used: bool = False


# --- drills and walks: of a message, by its id; of the gateway ---


@state("timed-message")
class TimedMessage(State):
    """A message of a drill or a walk: when it went into the outbox, left, arrived and was answered."""

    contact: str
    put_at: datetime
    sent_at: datetime | None = None
    delivered_at: datetime | None = None
    answered_at: datetime | None = None


@state("drill")
class DrillUnderWay(State):
    """The chain to the people is being tested. `messages`: the tests in the outbox; `everybody`: each contact has one.

    `until`: so long it waits for the last OK; `by_itself`: the calendar began it.
    """

    at: datetime
    until: datetime
    messages: tuple[int, ...]
    everybody: bool
    by_itself: bool


@state("drill-watched")
class DrillWatched(State):
    """Since when the household wants the chain tested each `drill.every`, and when the calendar last began a test."""

    since: datetime
    tried_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkLeg:
    """A text that a float under test made: as it came, by which rule, the network's stamp and when it was heard; the tester's message."""

    text: str
    rule: int
    stamp: datetime
    heard_at: datetime
    message: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkedFloat:
    """One float of a walk, `key` as `<controller>:<input>`. `up`: its tank's water, or its fitter, held it up as the walk began.

    `faults`: what was found, as `kind` or `kind:what`; `active`, `idle`: the two texts; `said`: what it said last. `done_at`: when both
    steps were over; `freed`: what it says counts as ever again.
    """

    key: str
    tank: str
    means: Literal["low", "high"]
    up: bool
    faults: tuple[str, ...] = ()
    active: WalkLeg | None = None
    idle: WalkLeg | None = None
    said: FloatState | None = None
    done_at: datetime | None = None
    freed: bool = False


@state("walk")
class WalkUnderWay(State):
    """The test after fitting. `place`: which of `floats` is being tried, in its `step` 0 or 1, `since` when; beyond the last one what left
    is waited for. `tester`: who alone hears of it; `by_text`: is led by texts, too.

    `interrupted`: nobody is there; it can be gone on with. `ended`: told, and only floats that were let go last are still waited for.
    """

    at: datetime
    tester: str
    by_text: bool
    wait_s: float
    floats: tuple[WalkedFloat, ...]
    place: int = 0
    step: int = 0
    since: datetime
    interrupted: bool = False
    ended: bool = False
