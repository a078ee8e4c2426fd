"""What the simulated modem has in mind between two commands, and the shape of its answers."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from gateway.simulator.habits import Faults, Habits
from gateway.simulator.network import Network
from gateway.simulator.sim_card import CMS_OF_CME, SIM_BUSY, Memories, Refused, SimCard

Kind = Literal["run", "read", "test", "set"]
"""AT+X, AT+X?, AT+X=?, AT+X=…"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Lines and a final result. `final` "": silence. `prompt`: instead, "> " and then what the text becomes.

    `then` runs once the answer is on its way.
    """

    lines: tuple[str, ...] = ()
    final: str = "OK"
    after_s: float = 0.0
    prompt: "Callable[[str], Answer] | None" = None
    then: Callable[[], None] | None = None


@dataclass(slots=True, kw_only=True)
class ModemState:
    """Settings of the dialogue; `power_up` puts them back."""

    habits: Habits
    faults: Faults
    sim: SimCard
    memories: Memories
    network: Network
    reset: Callable[[], None]
    say: Callable[[str], None]
    later: Callable[[float, Callable[[], None]], None]
    echo: bool = True
    quiet: bool = False
    figures: bool = False
    cmee: int = 0
    text_mode: bool = True
    csms: int = 0
    function: int = 1
    awake: bool = True
    store_is_ready: bool = True
    cnmi: tuple[int, ...] = (0, 0, 0, 0, 0)
    chosen: list[str] = field(default_factory=list)

    def power_up(self) -> None:
        """As after power-up: nothing that was set is left."""
        self.profile()
        self.csms, self.function, self.cnmi = 0, 1, (0, 0, 0, 0, 0)
        self.chosen = [self.habits.memories[0]] * 3
        self.awake = self.habits.wake_seconds <= 0
        self.sim.power_up()

    def profile(self) -> None:
        """What ATZ and AT&F bring back."""
        self.echo, self.cmee, self.text_mode = self.habits.echo, 0, self.habits.text_mode
        self.quiet, self.figures = self.habits.results == "none", self.habits.results == "figures"

    @property
    def is_mute(self) -> bool:
        """Whether it answers nothing now."""
        return self.faults.mute or self.faults.mute_until_reset

    @property
    def is_ready(self) -> bool:
        """Whether texts can come and go."""
        return self.awake and self.store_is_ready and self.function == 1 and self.sim.trouble() is None

    def need_sim(self, *, texts: bool = False) -> None:
        """Raises Refused where the SIM, or the modem, is not ready; for texts with the +CMS code."""
        if self.faults.busy is not None:
            raise Refused("CMS" if self.faults.busy >= 256 else "CME", self.faults.busy)
        if texts and not self.store_is_ready:
            raise Refused(said=self.habits.not_ready)
        code = SIM_BUSY if not self.awake else self.sim.trouble()
        if code is None:
            return
        raise Refused("CMS", CMS_OF_CME[code]) if texts and self.awake else Refused("CME", code)


Command = Callable[[ModemState, Kind, str], Answer]


def numbers(arguments: str, count: int) -> list[int]:
    """`1,2` → [1, 2]. Raises Refused where one is no number or there are more than `count`."""
    pieces = [piece.strip() for piece in arguments.split(",")]
    if len(pieces) > count or not all(piece.isdigit() for piece in pieces):
        raise Refused()
    return [int(piece) for piece in pieces]


def words(arguments: str) -> list[str]:
    """`"SM","ME"` → [SM, ME]."""
    return [piece.strip().strip('"') for piece in arguments.split(",")]
