"""A dry spell at Quandong Ridge, told in texts: what the network is made to do, step by step.

Values only: the command carries them out on the simulated network and shows what the gateway makes of them. `messages` is how
many must have left before the story goes on.
"""

from dataclasses import dataclass
from importlib import resources
from typing import Literal

RIDGE, WREN, STRANGER = "+61491570006", "+61491570156", "+61491570159"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: a text from somebody, or something that happens to the modem."""

    told: str
    does: Literal["text", "repeat", "unplug", "wait"] = "text"
    sender: str = RIDGE
    text: str = ""
    messages: int = 0


STORY: tuple[Step, ...] = (
    Step(told="A quiet morning: the box on the ridge says that it is well.", text="STATION WELL 0611 SUPPLY 12.6 V"),
    Step(told="The source fails. The upper tank falls to its float.", text="ZONE 2 OPEN 0642", messages=3),
    Step(told="The network brings the same text a second time: once is once.", does="repeat", text="ZONE 2 OPEN 0642"),
    Step(told="Wren takes it from her phone; the others learn who has it.", sender=WREN, text="ok", messages=3),
    Step(told="Now the tank that feeds the house falls too.", text="ZONE 1 OPEN 0717", messages=3),
    Step(told="Somebody trips over the modem's cable, and puts it back.", does="unplug"),
    Step(told="A text that no rule reads goes on word for word.", text="FLT 07 AUX LID?", messages=1),
    Step(told="A stranger writes: kept, answered by nobody.", sender=STRANGER, text="You have won a boat"),
    Step(told="Wren cleaned the intake and notes it.", sender=WREN, text="NOTE cleaned the intake", messages=1),
    Step(told="Water again: the upper tank fills.", text="ZONE 2 SHUT 0955", messages=3),
    Step(told="And the house tank.", text="ZONE 1 SHUT 1120 SUPPLY 12.4 V", messages=3),
    Step(told="Wren asks how things stand.", sender=WREN, text="Tanks", messages=1),
    Step(told="The box falls silent: here after 20 seconds, at home after a day.", does="wait", messages=1),
    Step(told="It is heard again.", text="STATION WELL 1640 SUPPLY 12.5 V", messages=1),
)


def configuration(store: str) -> str:
    """The household's TOML, on the store at this path."""
    return resources.files("gateway.simulator").joinpath("quandong.toml").read_text("utf-8").replace("STORE", store)
