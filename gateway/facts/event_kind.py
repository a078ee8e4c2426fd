"""The words that an entry of the table in `kinds.py` is made of: the kinds' names, and all that can be said of one kind.

The order of the names is the order of weight: what is told of several is told in it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

EventKind = Literal[
    "ran-dry",
    "taps-safe",
    "dry-over-reckoned",
    "low",
    "low-over",
    "high",
    "high-over",
    "low-over-said",
    "low-over-reckoned",
    "high-over-said",
    "high-over-reckoned",
    "silent",
    "heard-again",
    "texts-rarer",
    "texts-regular",
    "power-lost",
    "power-back",
    "battery-low",
    "battery-back",
    "battery-high",
    "battery-high-over",
    "frost",
    "battery-frost",
    "frost-season",
    "errand-runs-on",
    "errand-stopped",
    "float-fault",
    "float-quiet",
    "gauge-fault",
    "gauge-well",
    "gauge-differs",
    "gauge-agrees",
    "night-flow",
    "night-flow-over",
    "draw-while-away",
    "draw-over",
    "supply-weaker",
    "input-active",
    "input-idle",
    "reading-low",
    "reading-high",
    "reading-back",
    "unread",
    "reading",
    "level",
    "alive",
    "errand-ordered",
    "errand-answered",
    "errand-unexpected",
    "errand-unanswered",
    "errand-refused",
    "note",
    "taken",
    "unanswered",
    "adopt-asked",
    "adopted",
    "watch-asked",
    "watch-declined",
    "watch-begun",
    "watch-over",
    "away",
    "people",
    "people-over",
    "back",
    "paused",
    "pause-over",
    "modem-lost",
    "modem-back",
    "sim-trouble",
    "sim-back",
    "memory-full",
    "memory-free",
    "memory-unread",
    "memory-read",
    "signal-lost",
    "signal-back",
    "signal-weak",
    "signal-good",
    "clock-untrusted",
    "clock-set",
    "store-trouble",
    "store-back",
    "disk-low",
    "disk-back",
    "backup-failed",
    "backup-back",
    "backup-made",
    "outbox-waits",
    "outbox-moves",
    "nothing-delivered",
    "delivered-again",
    "credit-low",
    "credit-back",
    "credit-unread",
    "walked",
    "walk-passed",
    "walk-failed",
    "card-expires",
    "card-use",
    "drill-missed",
    "drill-overdue",
    "drill-passed",
    "contact-tested",
    "gateway-started",
    "gateway-stopped",
    "given-up",
    "cancelled",
    "held-back",
    "loop-stopped",
    "odd",
    "configuration-changed",
    "reloaded",
    "reload-refused",
    "read-otherwise",
]
Subject = Literal["tanks", "controllers", "gateway"]
"""Which `about` of a contact an event or a message answers to."""

Priority = Literal["urgent", "soon", "record"]
"""`urgent`: calls people out turn by turn, breaks quiet hours and asks for a reply. `soon`: one message to each contact of its subject,
outside their quiet hours. `record`: on record only, in the weekly report and on the page; whoever must know of it sooner is told by
other means. An alarm's own follows from what it would lead to (`status.alarm_priority`) and from the configuration."""

Family = Literal[
    "low", "high", "silence", "losses", "power", "battery", "overvoltage", "float", "gauge", "differs", "leak", "draw", "input", "reading",
    "modem", "sim", "memory", "unread-memory", "signal", "weak", "clock", "store", "disk",
    "backup", "outbox", "delivery", "credit", "off", "dry", "note", "errand", "drill",
]  # fmt: skip
Tone = Literal["low", "high", "dry", "silent", "power", "off", "note"]
"""How something looks on the page: a colour and a shape or hatching of its own."""


EPISODE_TONES: Mapping[Family, Tone] = MappingProxyType(
    {
        "low": "low",
        "dry": "dry",
        "high": "high",
        "silence": "silent",
        "power": "power",
        "battery": "power",
        "errand": "high",
        "note": "note",
        "off": "off",
        "modem": "off",
        "sim": "off",
        "memory": "off",
        "unread-memory": "off",
        "signal": "off",
        "store": "off",
    }
)
"""Families that the page draws as lanes and marks in its calendar; the others only stand in the record."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """All that is known of one kind of event.

    `page`: its sentence in the page's record, where `{where}`, `{lasted}`, `{numbers}` … are filled in; `tone`: how it stands out there;
    `routine`: folded away there. `opens`, `closes`: the family of the alarm that it raises, or says is over. `moment`: drawn as a moment
    of that family. `consequence`, `respond_within`, `do`: of an alarm, what comes of it if nobody does anything, within what time
    somebody must have done something, and what (`alarms --why`; `doctor` advises it while it lasts). `switch`: a float's switch tells
    it; `float_is`: what is known of that float from then on; `reckoned`: it says that the alarm is over by reckoning alone, and nobody
    has heard so. `forecast`: told with when the tank is dry or full. `lasts`: a trouble of the gateway that is kept until its end is
    known. `bars_messages`: none leaves meanwhile, so only its end is told. `weekly`: how often it came stands in the week's message.
    `word_for_word`: the text itself is passed on.
    """

    name: EventKind
    subject: Subject
    page: str
    priority: Priority = "soon"
    opens: Family | None = None
    closes: Family | None = None
    moment: Family | None = None
    consequence: str = ""
    respond_within: str = ""
    do: str = ""
    tone: Tone | None = None
    routine: bool = False
    switch: bool = False
    float_is: Literal["active", "idle", "unknown"] | None = None
    reckoned: bool = False
    forecast: bool = False
    lasts: bool = False
    bars_messages: bool = False
    weekly: bool = False
    word_for_word: bool = False

    @property
    def begins_episode(self) -> Family | None:
        """The family of the episode that it begins on the page; a moment begins none."""
        return self.opens if self.opens in EPISODE_TONES and self.moment is None else None

    @property
    def ends_episode(self) -> Family | None:
        """The family of the episode that it ends on the page."""
        return self.closes if self.closes in EPISODE_TONES else None
