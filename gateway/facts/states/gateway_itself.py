"""What is remembered of the gateway itself: its troubles, its modem, its clock, its configuration, and what it did last."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from gateway.facts.states.declared import State, state
from gateway.facts.texts import ReportOutcome

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
