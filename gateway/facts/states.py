"""What the gateway remembers between texts, declared once: each kind is one frozen dataclass with a name and a version.

Of each kind the store keeps one value for each subject: a controller, a float, a tank, a contact, a trouble, or `""` for the gateway
itself. `reader.state(Silence, "ridge")` reads it, `tx.set_state(Silence(...), "ridge")` writes it, `tx.clear_state(Silence, "ridge")`
ends it. Whoever changes the fields of a kind counts its version up and says with `upgrade` how an older value becomes one of today;
`tests/facts/test_states.py` holds the fields of each version fast.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal, TypeVar, dataclass_transform

from gateway.facts.readings import FloatState
from gateway.facts.texts import ReportOutcome

Upgrade = Callable[[int, Mapping[str, Any]], Mapping[str, Any]]
"""(the older version, its fields as JSON) → the fields of today's version as JSON."""


class State:
    """What every kind of state is."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """How a kind stands in the store."""

    name: str
    version: int
    upgrade: Upgrade | None


STATES: dict[type[State], Declared] = {}
S = TypeVar("S", bound=State)


@dataclass_transform(frozen_default=True, kw_only_default=True)
def state(name: str, *, version: int = 1, upgrade: Upgrade | None = None) -> Callable[[type[S]], type[S]]:
    """Declares a kind of state. A field that it does not know makes a value unreadable, as a missing one does."""

    def declare(kind: type[S]) -> type[S]:
        made = dataclass(frozen=True, slots=True, kw_only=True)(kind)
        setattr(made, "__pydantic_config__", {"extra": "forbid"})  # noqa: B010  # no attribute of the class for mypy
        STATES[made] = Declared(name=name, version=version, upgrade=upgrade)
        return made

    return declare


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


# --- the house ---


@state("taps-dry")
class TapsDry(State):
    """The taps are dry by somebody's word. `step`: how far the air has been let out since (`status.dry_taps`)."""

    since: datetime
    by: str
    step: int = 0


# --- troubles of the gateway, by their kind of event ---


@state("trouble")
class Trouble(State):
    """It has begun and is not over."""

    since: datetime


# --- the gateway itself ---


@state("clock-evidence")
class ClockEvidence(State):
    """What stamps say of our clock: when one agreed with it (`agreed_at`), or by how much one did not (`offset_s`, network less ours), when
    and from whom that came, and how often it was the same."""

    agreed_at: datetime | None = None
    offset_s: float | None = None
    heard_at: datetime | None = None
    sender: str = ""
    times: int = 0


@state("clock-confirmed")
class ClockConfirmed(State):
    """When a stamp last agreed with our clock, to the day; a clock that was set since keeps it."""

    at: datetime


@state("weak-signal")
class WeakSignal(State):
    """The signal is weak; a trouble only once it has been so for a while."""

    since: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoryKept:
    """A memory of the modem as it was last: its slots, and what takes them for good."""

    name: str
    total: int | None
    own: int
    stuck: int
    is_read: bool


def _condition_of(version: int, fields: Mapping[str, Any]) -> Mapping[str, Any]:
    """The first version knew nothing of memories."""
    return {**fields, "memories": []}


@state("modem-condition", version=2, upgrade=_condition_of)
class ModemCondition(State):
    """What the modem said last of its network and SIM."""

    signal_percent: float | None
    registered: bool | None
    operator: str | None
    sim: str
    at: datetime
    memories: tuple[MemoryKept, ...] = ()


@state("modem-identity")
class ModemIdentity(State):
    """The modem as it was when it was last ready."""

    model: str
    memories: tuple[str, ...]
    announces: bool
    notes: tuple[str, ...]


@state("own-number")
class OwnNumber(State):
    """The gateway's own number, as the SIM that is in the modem says it."""

    number: str


@state("modem-unknown-lines")
class ModemUnknownLines(State):
    """What the modem said that fits no known form: (shape without figures and words, how often), as it was told last."""

    lines: tuple[tuple[str, int], ...]
    at: datetime


@state("published-site")
class PublishedSite(State):
    """What the gateways of other sites may know of this one (`settings.sharing`), as JSON."""

    configuration: str


@state("known-configuration")
class KnownConfiguration(State):
    """The configuration that was in force last: each key that was not at its default, as `settings.settings_changes` has it."""

    written: tuple[tuple[str, str], ...]


@state("configuration-kept")
class ConfigurationKept(State):
    """The configuration file, without what is secret in it; the keys that are left out."""

    text: str
    secrets: tuple[str, ...]


@state("card-told")
class CardTold(State):
    """What was told of a card (by its id): until when it is good, as told, and with how many days left at most."""

    until: str
    days: int


@state("outage")
class Outage(State):
    """A time off that is still to be told. `cleanly`: the gateway ended in order; `surely`: it is known when it was last at work."""

    since: datetime
    off_s: float
    cleanly: bool
    surely: bool


@state("mistake-told")
class MistakeTold(State):
    """When it was last told that the gateway made a mistake."""

    at: datetime


@state("levels-thinned")
class LevelsThinned(State):
    """Up to when only one level a day is left."""

    until: datetime


def _mqtt_published_of_today(version: int, fields: Mapping[str, Any]) -> Mapping[str, Any]:
    """The first version did not say when."""
    return {**fields, "at": None}


@state("mqtt-published", version=2, upgrade=_mqtt_published_of_today)
class MqttPublished(State):
    """Up to which event the MQTT broker has acknowledged all, when it last acknowledged one (None: none yet), and the topics under which
    it may retain something."""

    event: int
    topics: tuple[str, ...]
    at: datetime | None


@state("mqtt-link")
class MqttLinkSeen(State):
    """Whether the MQTT broker is reached, since when that is so, and why not."""

    reached: bool
    since: datetime
    why: str


@state("calendar-run")
class CalendarRun(State):
    """When a job of the calendar was last done; by its name."""

    at: datetime


@state("credit-failures")
class CreditFailures(State):
    """How often in a row no answer came."""

    times: int


@state("credit-answer")
class CreditAnswer(State):
    """What came last: the network's words, or `why` there were none or no amount in them."""

    at: datetime
    said: str | None
    amount: float | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlyReport:
    """A delivery report that came before the modem's answer to its message."""

    reference: int
    number: str
    outcome: ReportOutcome
    status: int
    stamp: datetime | None = None
    discharged: datetime | None = None


def _early_reports_of(version: int, fields: Mapping[str, Any]) -> Mapping[str, Any]:
    """The first version knew no times: what they are is not known."""
    return {"reports": [{**report, "stamp": None, "discharged": None} for report in fields["reports"]]}


@state("early-reports", version=2, upgrade=_early_reports_of)
class EarlyReports(State):
    """They wait for the answers to their messages; oldest first."""

    reports: tuple[EarlyReport, ...]


@state("day-limit-told")
class DayLimitTold(State):
    """The local day of which it was told last that its texts are used up."""

    day: date


@state("pin-mark")
class PinTried(State):
    """The one try that a PIN has was used. `mark`: tells nothing of it without the key that lies beside the store (`service.pin_file`)."""

    mark: str


@state("concatenation-reference")
class LastReference(State):
    """The reference by which the segments of the last long message were joined (0..255)."""

    number: int


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
