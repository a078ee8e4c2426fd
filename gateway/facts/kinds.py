"""Every kind of event, declared once: whose it is, who is told, which alarm it opens or closes, and where it is shown.

Whatever else knows of kinds (who is called out, what a week counts, what the page draws, what `doctor` advises) is worked out from these
entries; what they do not hold are the phrases, which stand in `phrases/<language>.toml` under the kind's name. `tests/facts`
walks the table and names every kind and place that is incomplete. The order is the order of weight: what is told of several is told in it.
"""

from collections.abc import Callable, Mapping
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


# fmt: off
_ENTRIES = (
    Kind(name="ran-dry", subject="tanks", priority="urgent", opens="dry", moment="dry", tone="low", forecast=True, weekly=True,
         page="The taps ran dry{who}",
         consequence="No water in the house; air in the pipes; the water may not be safe to drink afterwards.",
         respond_within="1h",
         do="close the house valve, fill slowly, bleed the taps from lowest to highest; the local authority's guidance first"),
    Kind(name="taps-safe", subject="tanks", closes="dry", page="{who_first} says that the water is safe again"),
    Kind(name="dry-over-reckoned", subject="tanks", closes="dry", reckoned=True,
         page="The taps should have water again by reckoning; nobody said so"),
    Kind(name="low", subject="tanks", priority="urgent", opens="low", tone="low", switch=True, float_is="active",
         forecast=True, weekly=True, page="{where} went low",
         consequence="The taps run dry, and the pipes take air. Upstream: less comes down, and in the end the same.",
         respond_within="12h",
         do="find why nothing comes: intake, pump, pipe between, an open tap. Close the house valve before it runs dry"),
    Kind(name="low-over", subject="tanks", closes="low", switch=True, float_is="idle", forecast=True,
         page="{where} is no longer low{lasted}"),
    Kind(name="high", subject="tanks", priority="record", opens="high", tone="low", switch=True, float_is="active", forecast=True,
         page="{where} went high",
         consequence="None in itself: the tank is full, and what comes more runs over.",
         respond_within="7d", do="nothing; where it must not run over, shut its inlet"),
    Kind(name="high-over", subject="tanks", closes="high", switch=True, float_is="idle",
         page="{where} is no longer high{lasted}"),
    Kind(name="low-over-said", subject="tanks", closes="low", float_is="idle", page="{who_first} says that {where} is no longer low"),
    Kind(name="low-over-reckoned", subject="tanks", closes="low", float_is="unknown", reckoned=True,
         page="{where}: no longer low by reckoning; nothing was heard"),
    Kind(name="high-over-said", subject="tanks", closes="high", float_is="idle", page="{who_first} says that {where} is no longer high"),
    Kind(name="high-over-reckoned", subject="tanks", closes="high", float_is="unknown", reckoned=True,
         page="{where}: no longer high by reckoning; nothing was heard"),
    Kind(name="silent", subject="controllers", opens="silence", tone="low", weekly=True,
         page="{where} fell silent",
         consequence="Its floats are blind: a tank may run low or dry, and nobody is told.",
         respond_within="24h", do="look at the box, its battery and its card; look at its tanks"),
    Kind(name="heard-again", subject="controllers", closes="silence", page="{where} is heard again{lasted}"),
    Kind(name="texts-rarer", subject="controllers", opens="losses", tone="silent", page="{where}: more and more of its texts do not come",
         consequence="The box falls silent some day, and till then news of it may be missing.",
         respond_within="7d", do="look at its aerial, its battery and its card"),
    Kind(name="texts-regular", subject="controllers", closes="losses", page="{where}: its texts come as they used to{lasted}"),
    Kind(name="power-lost", subject="controllers", opens="power", tone="low", weekly=True,
         page="{where} lost its power",
         consequence="The box lives on its battery and falls silent when that is empty.",
         respond_within="24h", do="look at the supply of the box"),
    Kind(name="power-back", subject="controllers", closes="power", page="{where} has power again{lasted}"),
    Kind(name="battery-low", subject="controllers", opens="battery", tone="low",
         page="{where}: battery low{numbers}",
         consequence="The box falls silent soon, and its floats are blind.",
         respond_within="24h", do="charge or change the battery; batteries hold acid and gas"),
    Kind(name="battery-back", subject="controllers", closes="battery", page="{where}: battery well again{numbers}"),
    Kind(name="battery-high", subject="controllers", opens="overvoltage", tone="low", page="{where}: voltage too high{numbers}",
         consequence="The battery boils dry or the box is damaged, if its charger is at fault.",
         respond_within="24h", do="look at the charge controller; no sparks near the battery; if unsure a licensed person"),
    Kind(name="battery-high-over", subject="controllers", closes="overvoltage", page="{where}: voltage well again{numbers}"),
    Kind(name="frost", subject="tanks", tone="power", page="{where}: frost{numbers}",
         consequence="Pipes freeze and burst, and water is lost.",
         respond_within="4h", do="drain or wrap the pipes"),
    Kind(name="battery-frost", subject="controllers", tone="power", page="{where}: frost near its battery's limit{numbers}",
         consequence="The battery freezes and bursts, and the box falls silent.",
         respond_within="4h", do="wrap it or bring it in; never charge a frozen battery"),
    Kind(name="frost-season", subject="tanks", tone="power", page="{where}: nights may freeze from now on",
         consequence="Pipes and flat batteries freeze in the first clear night.",
         respond_within="7d", do="drain or wrap pipes; keep batteries full"),
    Kind(name="errand-runs-on", subject="controllers", priority="urgent", opens="errand", tone="high",
         page="{where} could not be told to end the errand {errand}",
         consequence="What was switched goes on: a pump or a valve that should have stopped.",
         respond_within="1h", do="stop it by hand; see that the box is heard"),
    Kind(name="errand-stopped", subject="controllers", closes="errand", page="{where} was told to end the errand {errand}{lasted}"),
    Kind(name="float-fault", subject="tanks", opens="float", tone="low", page="{where}: its float switches to and fro",
         consequence="Its changes are kept and not told: the tank is not watched while it lasts.",
         respond_within="3d", do="look at the float and its cable"),
    Kind(name="float-quiet", subject="tanks", closes="float", page="{where}: its float is quiet again"),
    Kind(name="gauge-fault", subject="tanks", opens="gauge", tone="low", page="{where}: its gauge cannot be believed",
         consequence="Its level is not known: the tank is watched by its floats alone, if it has any.",
         respond_within="3d", do="look at the gauge and its cable"),
    Kind(name="gauge-well", subject="tanks", closes="gauge", page="{where}: its gauge is well again{lasted}"),
    Kind(name="gauge-differs", subject="tanks", opens="differs", tone="low", page="{where}: its gauge and a float contradict each other",
         consequence="One of the two is wrong: what is told of the tank may be false.",
         respond_within="3d", do="look at both; the float is the simpler one"),
    Kind(name="gauge-agrees", subject="tanks", closes="differs", page="{where}: its gauge and its floats agree again{lasted}"),
    Kind(name="night-flow", subject="tanks", opens="leak", tone="low", weekly=True, page="{where}: water goes all night",
         consequence="Water goes all night: a leak or an open tap empties the tank.",
         respond_within="24h", do="look for an open tap or a leak"),
    Kind(name="night-flow-over", subject="tanks", closes="leak", page="{where}: the nights are quiet again{lasted}"),
    Kind(name="draw-while-away", subject="tanks", opens="draw", tone="low", page="{where}: water was drawn while nobody was there",
         consequence="Nobody is there to draw it: a leak or an open tap empties the tank.",
         respond_within="12h", do="ask who is there; look for a leak or an open tap, close the house valve"),
    Kind(name="draw-over", subject="tanks", closes="draw", priority="record", page="{where}: what was drawn is explained{lasted}"),
    Kind(name="supply-weaker", subject="tanks", page="{where} fills more slowly: {was} then, {now} now",
         consequence="The tank fills more slowly, and some day not fast enough.",
         respond_within="7d", do="look at the intake and the pump"),
    Kind(name="input-active", subject="controllers", opens="input", tone="low", page="{where}: {named}",
         consequence="As the household knows it: a lid stands open, a pump stands still.",
         respond_within="24h", do="look at it"),
    Kind(name="input-idle", subject="controllers", closes="input", page="{where}: {named}{lasted}"),
    Kind(name="reading-low", subject="controllers", opens="reading", tone="low", page="{where}: {named} is low{numbers}",
         consequence="As the household knows it: something is below the limit of its rule.",
         respond_within="24h", do="look at it"),
    Kind(name="reading-high", subject="controllers", opens="reading", tone="low", page="{where}: {named} is high{numbers}",
         consequence="As the household knows it: something is above the limit of its rule.",
         respond_within="24h", do="look at it"),
    Kind(name="reading-back", subject="controllers", closes="reading", page="{where}: {named} is well again{numbers}"),
    Kind(name="unread", subject="controllers", word_for_word=True, page="{where} sent a text that no rule reads",
         consequence="A text of the box was not understood: what it said moves nothing here.",
         respond_within="24h", do="read it; write a rule for it (suggest)"),
    Kind(name="reading", subject="controllers", priority="record", routine=True, page="{where} told{numbers}"),
    Kind(name="level", subject="tanks", priority="record", routine=True, page="{where}: level{level}"),
    Kind(name="alive", subject="controllers", priority="record", routine=True, page="{where} says that it is well{numbers}"),
    Kind(name="errand-ordered", subject="controllers", priority="record", routine=True,
         page="{where}: the errand {errand} was ordered{who}"),
    Kind(name="errand-answered", subject="controllers", priority="record", routine=True, page="{where} answered the errand {errand}{lasted}"),
    Kind(name="errand-unexpected", subject="controllers", priority="record",
         page="{where} answered the errand {errand} otherwise than expected"),
    Kind(name="errand-unanswered", subject="controllers", priority="record", page="{where} gave no answer to the errand {errand}"),
    Kind(name="errand-refused", subject="controllers", priority="record", page="{where}: the errand {errand} was not sent"),
    Kind(name="note", subject="gateway", priority="record", moment="note", tone="note", page="Note{who}: {text}"),
    Kind(name="taken", subject="gateway", priority="record", page="{who_first} sees to it"),
    Kind(name="unanswered", subject="gateway", priority="record", tone="low", page="Nobody took it"),
    Kind(name="adopt-asked", subject="gateway", priority="record", tone="low", page="A text from a number that nobody here has: {text}"),
    Kind(name="adopted", subject="gateway", priority="record", page="{who_first} says whose a new number is"),
    Kind(name="watch-asked", subject="gateway", priority="record", routine=True, page="Somebody was asked to have the watch"),
    Kind(name="watch-declined", subject="gateway", priority="record", routine=True, page="{who_first} does not have the watch"),
    Kind(name="watch-begun", subject="gateway", priority="record", page="{who_first} has the watch"),
    Kind(name="watch-over", subject="gateway", priority="record", routine=True, page="The watch{who} is over"),
    Kind(name="away", subject="tanks", priority="record", page="{who_first} says that nobody draws water"),
    Kind(name="people", subject="tanks", priority="record", page="{who_first} says how many draw water"),
    Kind(name="people-over", subject="tanks", priority="record", routine=True, page="As many as are configured draw water again"),
    Kind(name="back", subject="tanks", priority="record", page="{who_first} says that somebody is there again"),
    Kind(name="paused", subject="tanks", priority="record", page="Work on {where} began"),
    Kind(name="pause-over", subject="tanks", priority="record", page="Work on {where} is over"),
    Kind(name="modem-lost", subject="gateway", opens="modem", tone="low", lasts=True, bars_messages=True,
         page="The gateway lost its modem",
         consequence="Nothing is heard and nobody can be told.",
         respond_within="12h", do="look at its cable and power; another program may hold it"),
    Kind(name="modem-back", subject="gateway", closes="modem", page="The gateway has its modem again{lasted}"),
    Kind(name="sim-trouble", subject="gateway", opens="sim", tone="low", lasts=True,
         page="The SIM was refused",
         consequence="Nothing is heard and nobody can be told.",
         respond_within="12h", do="do what it says; a PUK is entered in a phone"),
    Kind(name="sim-back", subject="gateway", closes="sim", page="The SIM works again{lasted}"),
    Kind(name="memory-full", subject="gateway", opens="memory", tone="low", lasts=True,
         page="The modem has hardly any room for texts", consequence="Soon no more texts can come in.",
         respond_within="24h", do="take the SIM out and delete the texts and drafts on it in a phone"),
    Kind(name="memory-free", subject="gateway", closes="memory", page="The modem has room for texts again{lasted}"),
    Kind(name="memory-unread", subject="gateway", opens="unread-memory", tone="low", lasts=True,
         page="The texts in the modem cannot be read", consequence="Nothing that was texted is heard.",
         respond_within="12h", do="try the SIM in a phone; tank-gateway modem --report FILE for somebody who helps"),
    Kind(name="memory-read", subject="gateway", closes="unread-memory", page="The texts in the modem are read again{lasted}"),
    Kind(name="signal-lost", subject="gateway", opens="signal", tone="low", lasts=True, bars_messages=True,
         page="The gateway has no mobile signal",
         consequence="Nothing is heard and nobody can be told.",
         respond_within="12h", do="move the antenna; ask the operator, look at the SIM's contract"),
    Kind(name="signal-back", subject="gateway", closes="signal", page="The gateway has mobile signal again{lasted}"),
    Kind(name="signal-weak", subject="gateway", opens="weak", tone="low", lasts=True,
         page="The gateway's mobile signal is weak",
         consequence="Texts may come late or not at all.",
         respond_within="7d", do="a higher or freer place for the antenna, or one outside"),
    Kind(name="signal-good", subject="gateway", closes="weak", page="The gateway's mobile signal is good again{lasted}"),
    Kind(name="clock-untrusted", subject="gateway", opens="clock", tone="low", lasts=True,
         page="The gateway's clock is not set",
         consequence="Times may be wrong, and silence is not judged.",
         respond_within="3d", do="connect the board to a network once, or fit a clock battery"),
    Kind(name="clock-set", subject="gateway", closes="clock", page="The gateway's clock is set"),
    Kind(name="store-trouble", subject="gateway", opens="store", tone="low", page="The gateway could not store",
         consequence="Texts stay on the SIM until it is full; what comes then may be lost.",
         respond_within="12h", do="make room on the disk, or change it"),
    Kind(name="store-back", subject="gateway", closes="store", page="The gateway stores again{lasted}"),
    Kind(name="disk-low", subject="gateway", opens="disk", tone="low", lasts=True, page="The gateway's disk is nearly full",
         consequence="Soon nothing can be stored.",
         respond_within="3d", do="make room on the disk"),
    Kind(name="disk-back", subject="gateway", closes="disk", page="The gateway's disk has room again"),
    Kind(name="backup-failed", subject="gateway", opens="backup", tone="low", lasts=True,
         page="A backup failed",
         consequence="If the disk fails, the history is lost.",
         respond_within="7d", do="look at store.backup_folder: is its medium there, is there room"),
    Kind(name="backup-back", subject="gateway", closes="backup", page="Backups are made again{lasted}"),
    Kind(name="backup-made", subject="gateway", priority="record", routine=True, page="A backup was made"),
    Kind(name="outbox-waits", subject="gateway", opens="outbox", tone="low", lasts=True, bars_messages=True,
         page="Messages wait and cannot leave",
         consequence="Nobody learns what happens meanwhile.",
         respond_within="12h", do="look at the modem, its signal and its card's credit"),
    Kind(name="outbox-moves", subject="gateway", closes="outbox", page="Messages leave again{lasted}"),
    Kind(name="nothing-delivered", subject="gateway", opens="delivery", tone="low", lasts=True,
         page="The network takes messages and delivers none",
         consequence="Nobody learns what happens, and each message looks as if it had been sent.",
         respond_within="12h",
         do="ask the operator; look at the SIM's contract and credit. Where the network gives no reports: modem.delivery_reports = false"),
    Kind(name="delivered-again", subject="gateway", closes="delivery", page="Messages are delivered again{lasted}"),
    Kind(name="credit-low", subject="gateway", opens="credit", tone="low", lasts=True, page="The SIM has little credit",
         consequence="Messages cannot leave once it is used up.",
         respond_within="3d", do="top it up"),
    Kind(name="credit-back", subject="gateway", closes="credit", page="The SIM has credit again"),
    Kind(name="credit-unread", subject="gateway", lasts=True, word_for_word=True,
         page="The SIM's credit could not be read", do="mend balance.pattern or balance.ussd"),
    Kind(name="walked", subject="tanks", priority="record", routine=True, page="{where}: its float was tried"),
    Kind(name="walk-passed", subject="gateway", priority="record", page="The test after fitting was passed{who}"),
    Kind(name="walk-failed", subject="gateway", priority="record", tone="low", page="The test after fitting found what must be mended{who}"),
    Kind(name="card-expires", subject="gateway", tone="low", page="A card that the chain hangs on expires"),
    Kind(name="card-use", subject="gateway", tone="low", page="A card that the chain hangs on was long not used"),
    Kind(name="drill-missed", subject="gateway", tone="low", page="A test of the chain to the people did not reach everybody"),
    Kind(name="drill-overdue", subject="gateway", opens="drill", tone="low", lasts=True,
         page="The chain to the people was not tested in time",
         consequence="Nobody knows whether messages still reach everybody.",
         respond_within="7d", do="tank-gateway drill; then ask who did not answer"),
    Kind(name="drill-passed", subject="gateway", closes="drill", priority="record", routine=True,
         page="A test of the chain reached everybody"),
    Kind(name="contact-tested", subject="gateway", priority="record", routine=True, page="One contact was tested"),
    Kind(name="gateway-started", subject="gateway", closes="off", routine=True, page="The gateway started"),
    Kind(name="gateway-stopped", subject="gateway", priority="record", opens="off", routine=True, page="The gateway stopped",
         consequence="Nobody is told of anything while the gateway is off.",
         respond_within="1h", do="start it again"),
    Kind(name="given-up", subject="gateway", page="A message could not be delivered"),
    Kind(name="cancelled", subject="gateway", priority="record", page="A message was overtaken and not sent"),
    Kind(name="held-back", subject="gateway", priority="record", page="Messages were held back"),
    Kind(name="loop-stopped", subject="gateway", priority="record", page="Somebody's automatic replies are answered no more"),
    Kind(name="odd", subject="gateway", page="The gateway met a fault of its own and went on"),
    Kind(name="configuration-changed", subject="gateway", priority="record", page="The configuration changed{changed}"),
    Kind(name="reloaded", subject="gateway", routine=True, page="The configuration was read anew"),
    Kind(name="reload-refused", subject="gateway", page="The new configuration was refused"),
    Kind(name="read-otherwise", subject="controllers", priority="record", routine=True,
         page="{where}: an earlier reading, replaced since"),
)
# fmt: on
KINDS: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in _ENTRIES})
"""Name → entry; a name that has no entry raises KeyError naming it, and stands for nothing else. Whoever only looks at the record asks by
`get`: a later program may have written to it before somebody went back to this one."""


def kinds_where(holds: Callable[[Kind], object]) -> tuple[EventKind, ...]:
    """The names of the kinds for which it holds, the weightiest first."""
    return tuple(kind.name for kind in KINDS.values() if holds(kind))


URGENT_KINDS = kinds_where(lambda kind: kind.priority == "urgent")
"""Kinds that call people out by themselves, whatever the forecast and the configuration say."""
