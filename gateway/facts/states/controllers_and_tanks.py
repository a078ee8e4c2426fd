"""What is remembered of controllers, floats, inputs, gauges and tanks."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from gateway.facts.readings import FloatState
from gateway.facts.states.declared import State, state

# --- controllers, by their ids ---


@state("silence")
class Silence(State):
    """It was found silent, and not heard since. `since`: its last sign of life; `flagged_at`: when that was found."""

    since: datetime
    flagged_at: datetime


@state("asked")
class Asked(State):
    """When it was last sent its asking text."""

    at: datetime


@state("watched")
class Watched(State):
    """From when on its silence is watched."""

    since: datetime


@state("watched-together")
class WatchedTogether(State):
    """What the first program kept: one time for all controllers, taken over for those that were known by then."""

    since: datetime


@state("power-lost")
class PowerLost(State):
    """It is without power."""

    since: datetime


@state("battery-episode")
class BatteryEpisode(State):
    """Whether it is low, since when; the last believable reading. `relapsed`: this episode began soon after the last was over."""

    low_since: datetime | None = None
    last_volts: float | None = None
    last_at: datetime | None = None
    back_at: datetime | None = None
    well_since: datetime | None = None
    relapsed: bool = False


@state("named-reading")
class NamedReading(State):
    """A number with limits of its own, as `<controller>:<name>`: beyond which it is since when; its newest text."""

    beyond: Literal["", "low", "high"] = ""
    since: datetime | None = None
    at: datetime | None = None


@state("overvoltage")
class Overvoltage(State):
    """Its battery's voltage is too high."""

    since: datetime


@state("frost-nights")
class FrostNights(State):
    """The night (the day on whose evening it began) of which frost was told last: for the pipes, for its battery."""

    pipes: date | None = None
    battery: date | None = None


@state("frost-season")
class FrostSeason(State):
    """When it was told that nights may freeze from now on."""

    told_at: datetime


# --- floats and inputs that are no tank's, as `<controller>:<input>` ---


@dataclass(frozen=True, slots=True, kw_only=True)
class PendingText:
    """The text that a pending switch was read in."""

    text: str | None
    sender: str | None


@state("float-memory")
class FloatMemory(State):
    """What is known of a float. `pending` waits until `pending_due` (our clock); `pending_at` is the text's time.

    `since` None: never heard, or since a time that cannot be.
    """

    state: Literal["unknown", "active", "idle"] = "unknown"
    since: datetime | None = None
    pending: FloatState | None = None
    pending_at: datetime | None = None
    pending_due: datetime | None = None
    pending_text: PendingText | None = None


@state("float-chatter")
class ChatterEpisode(State):
    """The last changes (of half an hour at most) and whether the float is held to be restless."""

    changes: tuple[datetime, ...] = ()
    restless: bool = False


@state("reckoned-end")
class ReckonedEnd(State):
    """When the alarm of a float that never says so is reckoned to be over. `since`: since when the float has been active."""

    since: datetime
    due: datetime


# --- gauges, as `<controller>:<input>` ---


@state("gauge-memory", version=2, upgrade=lambda _, fields: fields)
class GaugeMemory(State):
    """What is known of a gauge. `level_m` at `at`: the height that counts; `recent`: the last heights as they were read.

    `low`, `high`: None where that was never known, or nobody asks. `same_…`: what it read last, since when and how often without a change.
    `fault`: why nothing it says counts; `candidate`: what it read since, `believable` how often in a row. `seen_at`: its newest text.
    """

    level_m: float | None = None
    at: datetime | None = None
    recent: tuple[float, ...] = ()
    low: bool | None = None
    low_since: datetime | None = None
    high: bool | None = None
    high_since: datetime | None = None
    same_height: float | None = None
    same_since: datetime | None = None
    same_times: int = 0
    fault: Literal["", "signal", "range", "jump", "stuck", "quiet"] = ""
    fault_since: datetime | None = None
    candidate: float | None = None
    candidate_at: datetime | None = None
    believable: int = 0
    seen_at: datetime | None = None


@state("night-flow-watch")
class NightFlowWatch(State):
    """The local day on whose morning it was last looked at, and when it was told that water goes all night."""

    looked: date | None = None
    told_at: datetime | None = None


@state("gauge-contradicted")
class GaugeContradicted(State):
    """In how many levels running a float of its tank said something else, and since when that is told."""

    times: int = 0
    told_at: datetime | None = None


@state("texts-rarer")
class TextsRarer(State):
    """More of a controller's texts stay away than usual: since when that is told, and what share was usual then."""

    told_at: datetime
    usual: float


# --- tanks, by their ids ---


@state("supply-weaker", version=2, upgrade=lambda _, fields: fields)
class SupplyWeaker(State):
    """It was told that the tank's supply delivers less, and it is not well again; `recedes`: and that its source likely recedes."""

    told_at: datetime
    recedes: bool = False


@state("forecasts-held")
class ForecastsHeld(State):
    """Of the tank's last forecasts of which it is known what came of them, oldest first, whether it came between their edges."""

    held: tuple[bool, ...]
