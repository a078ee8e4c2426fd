"""A dry spell at Quandong Ridge, told in texts: what the network is made to do, step by step, each at its own hour.

Values only: the command carries them out on the simulated network, on a virtual clock, and shows what the gateway makes of them.
`messages` is how many must have left by the end of a step, with what became due on the way to it.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib import resources
from typing import Literal

RIDGE, WREN, ROBIN, STRANGER = "+61491570006", "+61491570156", "+61491570157", "+61491570159"
FIRST_DAY = datetime(2027, 3, 5)  # noqa: DTZ001 - local midnight, a Friday
YEAR_BEFORE_DAYS, YEAR_BEFORE_SEED = 365, 6
YEAR_BEFORE_STORIES = ("pump-stops", "box-dies")
"""The year that was lived there before: a seed by which each chart of the page has something to show, and all is well at its end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: a text from somebody, or something that happens to the modem, on that day (0 the first) at that local time."""

    day: int
    clock: str
    told: str
    does: Literal["text", "repeat", "unplug", "wait"] = "text"
    sender: str = RIDGE
    text: str = ""
    messages: int = 0

    @property
    def at(self) -> datetime:
        """Its local time, without a zone."""
        hour, minute = self.clock.split(":")
        return FIRST_DAY + timedelta(days=self.day, hours=int(hour), minutes=int(minute))


STORY: tuple[Step, ...] = (
    Step(
        day=0,
        clock="06:11",
        told="A quiet Friday: the box on the ridge says that it is well.",
        text="STATION WELL 0611 SUPPLY 12.6 V",
    ),
    Step(
        day=0,
        clock="06:15",
        told="Wren fitted a new float at the house tank, and tests it from the ladder: the walk says what to do.",
        sender=WREN,
        text="WALK house",
        messages=1,
    ),
    Step(
        day=0,
        clock="06:17",
        told="It hangs down. Only Wren hears of it, as of a test.",
        text="LINE 1 MADE 0617",
        messages=1,
    ),
    Step(
        day=0,
        clock="06:19",
        told="It floats again: the chain from the float to the phone is proven, and nothing learns from it.",
        text="LINE 1 BROKE 0619",
        messages=2,
    ),
    Step(
        day=0,
        clock="06:42",
        told="The source fails, and the upper tank falls to its float. By the evening the taps may be dry: that is urgent, and Wren is called.",
        text="LINE 2 MADE 0642",
        messages=1,
    ),
    Step(
        day=0,
        clock="06:43",
        told="The network brings the same text a second time: once is once.",
        does="repeat",
        text="LINE 2 MADE 0642",
    ),
    Step(
        day=0,
        clock="06:58",
        told="Wren has not answered for a quarter of an hour: it is Robin's turn.",
        does="wait",
        messages=1,
    ),
    Step(
        day=0,
        clock="07:02",
        told="Robin takes it, and Wren learns who has it.",
        sender=ROBIN,
        text="ok",
        messages=2,
    ),
    Step(
        day=0,
        clock="07:05",
        told="Wren looks into the upper tank and answers the gateway's question: that tells most about how long there is water.",
        sender=WREN,
        text="stopped",
        messages=1,
    ),
    Step(
        day=0,
        clock="07:10",
        told="On the way Robin asks the box for its state: an errand, which the gateway texts to it.",
        sender=ROBIN,
        text="ASK ridge status",
        messages=1,
    ),
    Step(
        day=0,
        clock="07:11",
        told="The box answers as expected, and Robin reads it.",
        text="STATION WELL 0711 SUPPLY 12.5 V",
        messages=1,
    ),
    Step(day=0, clock="13:30", told="Somebody trips over the modem's cable, and puts it back.", does="unplug"),
    Step(
        day=0,
        clock="20:40",
        told="A stranger writes: kept, answered by nobody.",
        sender=STRANGER,
        text="You have won a boat",
    ),
    Step(
        day=0,
        clock="22:40",
        told="At night comes a text that no rule reads. It is not urgent: Wren is let sleep.",
        text="FLT 07 AUX LID?",
    ),
    Step(
        day=1,
        clock="06:31",
        told="Wren's quiet hours end: what no rule reads goes on word for word.",
        does="wait",
        messages=1,
    ),
    Step(
        day=1,
        clock="07:05",
        told="Nothing was mended: a day after Robin took it, Robin is reminded.",
        does="wait",
        messages=1,
    ),
    Step(day=1, clock="07:08", told="Robin is on the way.", sender=ROBIN, text="ok", messages=1),
    Step(
        day=1,
        clock="07:52",
        told="The tank that feeds the house falls too. How long is there water? That is told at once.",
        text="LINE 1 MADE 0752",
        messages=1,
    ),
    Step(day=1, clock="07:58", told="Wren takes it.", sender=WREN, text="ok", messages=1),
    Step(day=1, clock="08:20", told="Robin asks how things stand.", sender=ROBIN, text="Tanks", messages=1),
    Step(
        day=1,
        clock="10:15",
        told="Two hours before the taps may be dry, who has it was called a second time: Wren has it still.",
        sender=WREN,
        text="ok",
        messages=1,
    ),
    Step(
        day=1,
        clock="10:35",
        told="Robin cleaned the intake and notes it.",
        sender=ROBIN,
        text="NOTE cleaned the intake",
        messages=1,
    ),
    Step(day=1, clock="11:50", told="Water again: the upper tank fills.", text="LINE 2 BROKE 1150", messages=3),
    Step(day=1, clock="13:40", told="And the house tank.", text="LINE 1 BROKE 1340 SUPPLY 12.4 V", messages=2),
    Step(
        day=1,
        clock="23:30",
        told="The box says that it is well. These are its last words for a while.",
        text="STATION WELL 2330 SUPPLY 12.4 V",
    ),
    Step(
        day=2,
        clock="10:20",
        told="The house tank was to be full in the course of the morning. Wren looks before lunch: it is, and notes it.",
        sender=WREN,
        text="NOTE house tank full",
        messages=1,
    ),
    Step(
        day=3,
        clock="06:31",
        told="In the night it was 26 hours since the box said anything. No tank was low, so Wren was let sleep; told now.",
        does="wait",
        messages=1,
    ),
    Step(day=3, clock="08:10", told="It is heard again.", text="STATION WELL 0810 SUPPLY 12.5 V", messages=1),
)


def configuration(store: str) -> str:
    """The household's TOML, on the store at this path."""
    return resources.files("gateway.simulator").joinpath("quandong.toml").read_text("utf-8").replace("STORE", store)
