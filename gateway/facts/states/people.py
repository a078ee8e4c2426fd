"""What is remembered of people: who texted what when, who is there, who has the watch, and that somebody said that the taps are dry."""

from datetime import datetime
from typing import Literal

from gateway.facts.states.declared import State, state

# --- contacts, by their ids ---


@state("recent-texts")
class RecentTexts(State):
    """A contact's texts of the last ten minutes: (when, how it begins)."""

    heard: tuple[tuple[datetime, str], ...] = ()


@state("not-understood")
class NotUnderstood(State):
    """When a text that was not understood was last answered."""

    answered_at: datetime


# --- senders: `controller:<id>`, `contact:<id>` ---


@state("sender-stamps")
class SenderStamps(State):
    """The network's stamps on a sender's texts: the `newest` that was believed, the `last` that came, when that one came first by our clock
    (`heard_at`), and the time that its text was given (`at`)."""

    newest: datetime | None
    last: datetime | None
    heard_at: datetime
    at: datetime


# --- who is there, and what they see ---


@state("presence")
class Presence(State):
    """How many draw water by somebody's word: 0 nobody, None as many as are configured. `until`: the end that was named; `asked_at`: when
    somebody was last asked whether it is there."""

    people: float | None
    since: datetime
    until: datetime | None
    by: str | None
    asked_at: datetime | None = None


@state("inflow-said")
class InflowSaid(State):
    """What somebody answered, asked whether water runs into that tank; holds while the tank is low since before."""

    tank: str
    runs: bool
    at: datetime
    by: str


@state("inflow-asked")
class InflowAsked(State):
    """People were asked whether water runs into that tank: once while it is low."""

    tank: str
    at: datetime


# --- the house ---


@state("taps-dry")
class TapsDry(State):
    """The taps are dry by somebody's word. `step`: how far the air has been let out since (`status.dry_taps`)."""

    since: datetime
    by: str
    step: int = 0


# --- numbers that nobody has by the file, by the number ---


@state("adoption-asked")
class AdoptionAsked(State):
    """A stranger's text looked like a box's, or said that it is a person's: what was asked, and the code that confirms it."""

    code: str
    of: Literal["controller", "contact"]
    whose: str
    at: datetime


@state("adopted-number")
class AdoptedNumber(State):
    """It counts as that box's, or that person's `instead_of` the one in the file. `by`: who said so."""

    of: Literal["controller", "contact"]
    whose: str
    by: str
    at: datetime
    instead_of: str | None = None


# --- the watch ---


@state("watch-asked")
class WatchAsked(State):
    """A contact was asked to have the watch, by `message`; it counts once they say OK. `by`: who asked (None: the command line).

    `until` None: until somebody else has it.
    """

    contact: str
    by: str | None
    at: datetime
    until: datetime | None
    message: int


@state("watch-given")
class WatchGiven(State):
    """A contact has the watch by word, whatever the week says. `by`: who asked them."""

    contact: str
    by: str | None
    since: datetime
    until: datetime | None
