"""What a contact can order by text: a closed union."""

from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True, slots=True, kw_only=True)
class Ok:
    """Takes what this person was told by then; `about`: only the alarms of that tank or controller, by its id."""

    about: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class No:
    """Cannot: the next turn is told; `about` as in OK."""

    about: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tanks:
    """Asks for every tank and controller."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Asks for the last seven days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Asks which words there are; `more`: all those that a household seldom needs."""

    more: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dry:
    """The taps have run dry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskDry:
    """Asks whether and when the taps run dry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """Asks for the next step of letting the air out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Safe:
    """The water is known to be safe again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Work on a tank; None where the tank or the time was not understood."""

    tank: str | None
    duration: timedelta | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """A tank is well again; None where it was not understood which."""

    tank: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark for the history; may be empty."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Orders an errand; `what` as it was written (`ridge status`), may be empty."""

    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Begins the test after fitting, or goes on with it; `tank` as it was written, "" for all."""

    tank: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """Says who is called first, or asks; `said` as it was written (`robin until sunday`), may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Away:
    """Nobody draws water; `said` as it was written (`until sunday`), may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class People:
    """So many draw water; `said` as it was written (`8 until sunday`), may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """Somebody is there again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inflow:
    """Answers whether water runs into the tank that was asked about."""

    runs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Adopt:
    """Says whose a new number is, with a code; from that number itself, whose it wants to be. `said` as it was written, may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Yes:
    """Confirms what was asked with that code of four digits."""

    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Nothing that is known, so that nothing is done. `near`: the key of the word that was nearly meant."""

    near: str | None = None


Order = (
    Ok
    | No
    | Tanks
    | Week
    | Words
    | Dry
    | AskDry
    | Next
    | Safe
    | Work
    | Over
    | Note
    | Ask
    | Walk
    | Watch
    | Away
    | People
    | Back
    | Inflow
    | Adopt
    | Yes
    | Unknown
)
