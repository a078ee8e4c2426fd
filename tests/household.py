"""An invented household for tests: its TOML, and a daemon at work in it on the simulated modem."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from gateway.facts import Event
from gateway.modem import Times
from gateway.ports import Clock, StoredText
from gateway.service import Built, build
from gateway.settings.load import load
from gateway.settings.models import Settings
from gateway.simulator import SimulatedModem

RIDGE, WREN, ROBIN, FINCH, STRANGER = (
    "+61491570006",
    "+61491570156",
    "+61491570157",
    "+61491570158",
    "+61491570159",
)
WITHIN_S = 120.0

BASE = """
[site]
name = "{site}"
timezone = "{timezone}"
country = "AU"
latitude = -35.2
language = "{language}"
[modem]
device = "simulated"
{modem}
{pin}
[store]
url = "{url}"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
{controller}
  [[controllers.rules]]
  text = "LINE {{input}} {{state}} *"
  means = "input"
  active = ["MADE"]
  idle = [{idle}]
  [[controllers.rules]]
  text = "STATION WELL *"
  means = "alive"
  [[controllers.rules]]
  text = "MAINS GONE"
  means = "power-lost"
  [[controllers.rules]]
  text = "MAINS BACK"
  means = "power-back"
  [[controllers.rules]]
  text = "SUPPLY {{volts}} V"
  means = "reading"
  scope = "anywhere"
[[tanks]]
id = "spring"
name = "Spring tank"
shape = {{ kind = "box", length_m = 1.5, width_m = 1.0, height_m = 1.2 }}
  [[tanks.floats]]
  controller = "ridge"
  input = 2
  means = "low"
  level_m = 0.4
  {float}
[[tanks]]
id = "house"
name = "House tank"
shape = {{ kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }}
fed_by = ["spring"]
  [[tanks.floats]]
  controller = "ridge"
  input = 1
  means = "low"
  level_m = 0.45
  {float}
[demand]
people = 4
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
{wren}
[[contacts]]
id = "robin"
name = "Robin"
number = "0491 570 157"
{robin}
{rest}
"""


def write_config(folder: Path, **parts: str) -> Path:
    """The household's file; `parts` are lines put into its tables."""
    filled = {name: parts.get(name, "") for name in ("pin", "controller", "float", "wren", "rest")}
    filled["modem"] = parts.get("line", "")
    filled["idle"] = parts.get("idle", '"BROKE"')
    filled["site"] = parts.get("site", "Quandong Ridge")
    filled["language"], filled["timezone"] = parts.get("language", "en"), parts.get("timezone", "Australia/Sydney")
    filled["url"] = parts.get("url", f"sqlite:///{folder}/gateway.db")
    filled["robin"] = "\n".join(('about = ["tanks"]' * ("about" not in parts.get("robin", "")), parts.get("robin", "")))
    file = folder / "gateway.toml"
    file.write_text(BASE.format(**filled), "utf-8")
    file.chmod(0o600)
    return file


@dataclass
class Home:
    """A daemon at work."""

    settings: Settings
    built: Built
    modem: SimulatedModem

    def events(self, *kinds: str) -> list[Event]:
        """What happened, of these kinds."""
        with self.built.store.read() as reader:
            return [event for event in reader.events() if not kinds or event.kind in kinds]

    def texts(self, way: str) -> list[StoredText]:
        """Texts in or out, without the lines of what was taken for a repeat."""
        with self.built.store.read() as reader:
            return [text for text in reader.texts() if text.way == way and text.state != "repeat"]

    def sent(self, count: int) -> list[tuple[str, str]]:
        """(number, text) of what left, once so many have."""
        self.modem.network.wait_for_outgoing(count, WITHIN_S)
        return [(message.number, message.text) for message in self.modem.network.outgoing]

    def until(self, true: Callable[[], bool], what: str) -> None:
        """Waits until it holds."""
        wait = threading.Event()
        for _ in range(int(WITHIN_S / 0.02)):
            if true():
                return
            wait.wait(0.02)
        raise AssertionError(f"not within {WITHIN_S} s: {what}")

    def came(self, kind: str, count: int = 1) -> list[Event]:
        """The events of a kind, once there are so many."""
        self.until(lambda: len(self.events(kind)) >= count, f"{count} × {kind}")
        return self.events(kind)


@contextmanager
def at_home(
    folder: Path,
    modem: SimulatedModem | None = None,
    times: Times | None = None,
    trace: Path | None = None,
    clock: Clock | None = None,
    **parts: str,
) -> Iterator[Home]:
    """A daemon of the household at work, on this modem or one of its own, by this clock or the machine's."""
    settings = load(str(write_config(folder, **parts))).settings
    own = modem or SimulatedModem(str(folder / "modem-port"))
    if modem is None:
        own.start()
    built = build(settings, simulated=own, times=times or Times(settle_s=0.05), trace=trace, clock=clock)
    thread = threading.Thread(target=built.daemon.run, name="daemon-under-test")
    thread.start()
    try:
        yield Home(settings=settings, built=built, modem=own)
    finally:
        built.daemon.tell("stop")
        thread.join(WITHIN_S)
        built.close()
        if modem is None:
            own.stop()
        assert not thread.is_alive(), "the daemon did not stop"
