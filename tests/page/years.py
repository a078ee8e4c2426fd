"""An invented household with years of history in its store: dry autumns, a battery that tires, a float that chatters, hostile texts.

Deterministic: the same seed gives the same history. Written straight into the store, as a gateway would have over the years.
"""

import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from gateway.facts import Event, Message
from gateway.facts.alarms import Alarm, Telling
from gateway.facts.states.gateway_itself import Trouble
from gateway.settings.load import load
from gateway.site import Site, compile_site
from gateway.storage import open_store

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
HOSTILE = (
    "<script>document.title='taken'</script>",
    "<img src=http://192.0.2.1/x onerror=alert(1)>",
    "\"><svg onload=alert(1)></svg>'",
    "</code></td></table><h1>All is well</h1>",
    "{{ page.site }} {% raw %} ${7*7} \u202egnp.exe\u202c \x1b[31m",
    "<style>*{display:none}</style><base href=http://192.0.2.1/>",
)
CONFIG = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
latitude = -35.2
[modem]
device = "simulated"
[store]
url = "sqlite:///{folder}/gateway.db"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
  [[controllers.rules]]
  text = "LINE {{input}} {{state}} *"
  means = "input"
  active = ["MADE"]
  idle = ["BROKE"]
  [controllers.power]
  battery = {{ capacity_ah = 18, volts = 12, chemistry = "lead-acid" }}
  panel = {{ watts = 5, tilt_deg = 50, facing_deg = 0, horizon_deg = 10 }}
  load = {{ standby_ma = 30, text_ma = 300, texts_per_day = 4 }}
[[controllers]]
id = "creek"
name = "Creek box at the lower paddock gate"
number = "0491 570 110"
  [[controllers.rules]]
  text = "LINE {{input}} {{state}} *"
  means = "input"
  active = ["MADE"]
  idle = ["BROKE"]
[[tanks]]
id = "spring"
name = "Spring tank"
shape = {{ kind = "box", length_m = 1.5, width_m = 1.0, height_m = 1.2 }}
  [[tanks.floats]]
  controller = "creek"
  input = 1
  means = "low"
  level_m = 0.4
[[tanks]]
id = "hill"
name = "Hill tank"
shape = {{ kind = "lying-cylinder", diameter_m = 1.6, length_m = 2.4 }}
fed_by = ["spring"]
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "low"
  level_m = 0.3
  [[tanks.floats]]
  controller = "ridge"
  input = 4
  means = "high"
  level_m = 1.4
[[tanks]]
id = "house & <b>yard</b>"
name = "House <b>tank</b>"
shape = {{ kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }}
fed_by = ["hill"]
  [[tanks.floats]]
  controller = "ridge"
  input = 1
  means = "low"
  level_m = 0.45
  [[tanks.floats]]
  controller = "ridge"
  input = 2
  means = "high"
  level_m = 1.6
[source]
pump = {{ kind = "ram", drive_flow_l_min = 30, fall_m = 3, lift_m = 25, efficiency = 0.6 }}
[demand]
people = 4
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
[limits]
price_per_segment = 0.12
currency = "AUD"
"""
"""Not the one of `tests/household.py`: that has one box, two tanks and plain names; here are high floats, a battery, a pump and markup too."""
LOW_FLOATS = {"spring": ("creek", "1"), "hill": ("ridge", "3"), "house & <b>yard</b>": ("ridge", "1")}
HIGH_FLOATS = {"hill": ("ridge", "4"), "house & <b>yard</b>": ("ridge", "2")}


def household(folder: Path) -> Site:
    """The configuration, furnished."""
    file = folder / "gateway.toml"
    file.write_text(CONFIG.format(folder=folder), "utf-8")
    file.chmod(0o600)
    return compile_site(load(str(file)).settings)


@dataclass
class History:
    """What is put into the store."""

    site: Site
    now: datetime
    days: int
    chance: random.Random
    only_well: bool = False
    events: list[Event] = field(default_factory=list)

    def event(self, kind, at, tank=None, controller=None, input=None, text=None, **detail):
        if at <= self.now:
            self.events.append(
                Event(
                    kind=kind, at=at, heard_at=at, known_at=at, tank=tank, controller=controller, input=input,
                    text=text, sender="+61491570006" if controller else None, detail=detail,
                )
            )  # fmt: skip

    def invent(self) -> None:
        """All of it."""
        start = self.now - self.days * DAY
        for tank in LOW_FLOATS:
            self._tank(tank, start)
        self._boxes(start)
        if self.only_well:
            return
        for number, text in enumerate(HOSTILE):
            at = self.now - (number + 1) * 5 * HOUR
            self.event("unread", at, controller="ridge", text=text)
            self.event("note", at + HOUR / 2, text=f"note {number}: {text}", who="<i>Wren</i>")

    def _tank(self, tank, start):
        controller, input = LOW_FLOATS[tank]
        low = {"tank": tank, "controller": controller, "input": input}
        self.event("low-over", start, **low, first=True)
        at, since = start, start
        while at < self.now and not self.only_well:
            dry = 0.35 if at.month in (2, 3, 4) else 1.0
            at += DAY * self.chance.lognormvariate(2.6, 0.5) * dry
            lasted = HOUR * self.chance.lognormvariate(1.8, 0.6)
            self.event("low", at, **low, text=f"LINE {input} MADE {at:%H%M}", lasted_s=(at - since).total_seconds())
            if self.chance.random() < 0.08:
                self.event("ran-dry", at + lasted / 2, tank=tank, text="DRY", who="Wren")
            since = at + lasted
            self.event("low-over", since, **low, text=f"LINE {input} BROKE", lasted_s=lasted.total_seconds())
            if tank in HIGH_FLOATS:
                full = since + HOUR * self.chance.lognormvariate(3.2, 0.3)
                high = {"tank": tank, "controller": HIGH_FLOATS[tank][0], "input": HIGH_FLOATS[tank][1]}
                self.event("high", full, **high)
                self.event("high-over", full + 3 * HOUR, **high, lasted_s=10800.0)
                at = full + 3 * HOUR

    def _boxes(self, start):
        for day in range(self.days):
            for part in range(2):
                at = start + day * DAY + part * 9 * HOUR
                winter = 0.55 if at.month in (5, 6, 7) else 0.0
                volts = round(12.75 - winter + 0.5 * (part == 1) + self.chance.gauss(0, 0.08), 2)
                self.event("reading", at, controller="ridge", text=f"SUPPLY {volts} V", volts=volts)
            self.event("alive", start + day * DAY + HOUR, controller="creek", text="STATION WELL")
            if self.only_well:
                continue
            if self.chance.random() < 0.02:
                at = start + day * DAY + 9 * HOUR
                self.event("silent", at, controller="creek")
                self.event("heard-again", at + 20 * HOUR, controller="creek", lasted_s=72000.0)
            if self.chance.random() < 0.01:
                at = start + day * DAY + 13 * HOUR
                self.event("gateway-stopped", at)
                self.event("gateway-started", at + 5 * HOUR)
            if self.chance.random() < 0.01:
                at = start + day * DAY + 15 * HOUR
                self.event("power-lost", at, controller="ridge", text="MAINS GONE")
                self.event("power-back", at + 7 * HOUR, controller="ridge", lasted_s=25200.0)


def fill(site: Site, now: datetime, days: int, *, seed: int = 7, texts: bool = True, only_well: bool = False) -> None:
    """Puts so many days of history into the household's store; `only_well`: days on which nothing was wrong."""
    history = History(site=site, now=now, days=days, chance=random.Random(seed), only_well=only_well)
    history.invent()
    store = open_store(site.settings.store.url, site.settings.site.name)
    with store.write() as tx:
        for event in sorted(history.events, key=lambda event: event.at):
            kept = tx.keep_event(event)
            if texts and event.kind in ("low", "silent", "power-lost"):
                message = tx.put_message(_message(event.at, kept.id))
                tx.change_message(message.id, state="delivered", at=event.at)
            if texts and event.controller and event.kind != "silent":
                _came(tx, event, kept.id)
    store.close()


def _message(at: datetime, event: int) -> Message:
    return Message(
        contact="wren", number="+61491570156", text="House tank is LOW.", at=at, state="waiting", urgent=True,
        subject="tanks", event=event, segments=1,
    )  # fmt: skip


def _came(tx, event: Event, id: int) -> None:
    from gateway.facts import Text

    text = Text(number="+61491570006", text=event.text or "", at=event.at, heard_at=event.at)
    tx.keep_text(text, "read", controller=event.controller, event=id)


def low_alarm(tank: str, at: datetime, **more) -> Alarm:
    """A tank is low, and calls people out."""
    return Alarm(
        key=f"low:{tank}", kind="low", tank=tank, priority="urgent", since=at, raised_at=at, round_at=at, turn_at=at,
        reminded_at=at, **more
    )  # fmt: skip


def trouble(site: Site, now: datetime) -> None:
    """Then the house tank goes low, the creek box falls silent, and somebody takes the call-out."""
    store = open_store(site.settings.store.url, site.settings.site.name)
    house_tank, at = "house & <b>yard</b>", now - 3 * HOUR
    with store.write() as tx:
        low = tx.keep_event(
            Event(
                kind="low", at=at, heard_at=at, known_at=at, tank=house_tank, controller="ridge", input="1",
                text="LINE 1 MADE 1104", detail={"lasted_s": 4 * 86400.0},
            )
        )  # fmt: skip
        tx.keep_event(
            Event(kind="ran-dry", at=now - HOUR, heard_at=now, known_at=now, tank=house_tank, detail={"who": "Wren"})
        )
        alarm = tx.put_alarm(low_alarm(house_tank, at, event=low.id))
        tx.put_telling(Telling(alarm=alarm.number, contact="wren", at=at, why="first"))
        tx.set_state(Trouble(since=at), "signal-weak")
    store.close()
    other = open_store(site.settings.store.url, "Creek <i>Flat</i>")
    with other.write() as tx:
        tx.keep_event(Event(kind="low", at=at, heard_at=at, known_at=at, tank="trough", controller="flat", input="1"))
    other.close()
