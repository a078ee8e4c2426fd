"""An alarm: one matter that somebody should deal with, from raised to over, and who was told of it when."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from gateway.facts.event_kind import Priority, Subject
from gateway.facts.kinds import KINDS
from gateway.facts.messages import OutState

AlarmState = Literal["open", "unanswered", "taken", "held", "folded", "reckoned-over", "over"]
"""Its life is a table, `gateway.alarms.alarm_states`."""

TellingWhy = Literal[
    "first", "next-turn", "reminder", "came-back", "second-call", "worse", "sooner", "later", "changed", "took", "taken", "unanswered",
    "over", "warned",
]  # fmt: skip
"""Why a contact heard of it then. `took`: the answer to who took it; `taken`: others learn who did. `warned`: of dry taps, before their turn:
whoever sees to it, nobody should drink of them."""

GATEWAY = "gateway"


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """One matter. `key`: its family and whose it is (`low:house`); `kind`, `event`: the newest that told of it.

    `at_stake`: water hangs on it, so that it breaks quiet hours also when it is only reminded of. `folded_in`: the alarm that tells
    of this one too, while `state` is `folded`. `round_at`: when its messages began anew (raised, worse, come back); `turn`: the turn
    reached in this round, 0: who had it before (`asked_first`); `turn_at`: when that was told; `judged`: what became of its messages
    was looked at. `back_at`: a taken alarm that is not over by then comes back. `dry_early`, `dry_likely`: of the
    forecast as it was told; `warn_at`: when the second call is due, None: none is, or it was made. `reminders`: how many in this round.
    """

    key: str
    kind: str
    tank: str | None = None
    controller: str | None = None
    priority: Priority
    at_stake: bool = False
    state: AlarmState = "open"
    since: datetime
    raised_at: datetime
    over_at: datetime | None = None
    event: int | None = None
    folded_in: int | None = None
    round_at: datetime
    turn: int = 1
    turn_at: datetime
    judged: bool = False
    reminders: int = 0
    reminded_at: datetime
    asked_first: str | None = None
    taken_by: str | None = None
    taken_at: datetime | None = None
    back_at: datetime | None = None
    dry_early: datetime | None = None
    dry_likely: datetime | None = None
    warn_at: datetime | None = None
    id: int | None = None

    @property
    def about(self) -> str:
        """The id of the tank or controller, or `gateway`."""
        return self.key.split(":", 2)[1]

    @property
    def subject(self) -> Subject:
        """Which `about` of a contact it answers to."""
        return KINDS[self.kind].subject

    @property
    def stands_by_itself(self) -> bool:
        """Whether it has a round of its own: neither held, nor folded in another, nor over, nor reckoned so."""
        return self.state in ("open", "unanswered", "taken")

    @property
    def is_reckoned(self) -> bool:
        """Whether it should be over, and nobody has said so."""
        return self.state == "reckoned-over"

    @property
    def is_nobodys(self) -> bool:
        """Whether it stands by itself and nobody has it."""
        return self.stands_by_itself and self.state != "taken"

    @property
    def number(self) -> int:
        """Its id; of a stored one only."""
        assert self.id is not None
        return self.id


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """A contact was told of an alarm. `message`: by which; `state`, `handed_at`, `delivered_at`: what became of it, None if not known.

    `answered_at`: when this contact took it, or said that they cannot.
    """

    alarm: int
    contact: str
    at: datetime
    why: TellingWhy
    message: int | None = None
    answered_at: datetime | None = None
    state: OutState | None = None
    tries: int = 0
    handed_at: datetime | None = None
    delivered_at: datetime | None = None
    id: int | None = None
