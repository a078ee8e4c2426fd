"""What the spine asks of the modem, and what the modem tells."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from gateway.errors import SimReason
from gateway.facts import HeldPdu

Verdict = Literal["never", "later", "our side"]
"""Of a refusal. never: not this message to this number; our side: our SIM, modem or network is to blame, no contact."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SendJob:
    """One message for the modem: `number` E.164 or a short code; `reference` 0..65535 joins its segments."""

    id: int
    number: str
    text: str
    reference: int
    want_report: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What one sweep found in the modem's memories (possibly nothing); `complete`: every memory could be read."""

    held: tuple[HeldPdu, ...]
    complete: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class SendEnded:
    """How a SendJob ended.

    sent: every segment was accepted (`references`: the TP-MR of each). refused: the modem or network said no; `verdict`
    tells whether another try can help and whose trouble it is, `why` says it in words, and `may_have_left` that it excludes
    nothing. unsure: a segment was handed over and its answer was lost. not-sent: nothing was handed over. `late`: the answer of a job that
    was told as unsure before.
    """

    job: int
    outcome: Literal["sent", "refused", "unsure", "not-sent"]
    references: tuple[int, ...] = ()
    verdict: Verdict = "later"
    why: str = ""
    may_have_left: bool = False
    said: str = ""
    late: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotFreed:
    """Answer to `free`: not `done` where the modem refused. A slot that held something else by then is left alone, done."""

    held: HeldPdu
    done: bool
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ModemLost:
    """The device went away, is held by somebody, or answers no more (after a soft reset was tried)."""

    why: str
    kind: Literal["gone", "held", "silent", "sim", "refused"] = "gone"
    sim: SimReason | None = None
    """What is the matter with the SIM, where it is that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ModemReady:
    """The modem answers and is initialised. Not `announces`: +CNMI was refused, the sweep alone finds texts. `number`: the SIM's own, if it
    knows one."""

    model: str
    memories: tuple[str, ...]
    announces: bool
    notes: tuple[str, ...] = ()
    number: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoryRoom:
    """A memory of the modem: how many slots it has (`total` None: it does not say), and what takes them for good: `own`, drafts and sent
    messages, and `stuck`, what it will not free. Not `is_read`: it cannot be listed."""

    name: str
    total: int | None
    own: int = 0
    stuck: int = 0
    is_read: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What the modem says of itself. `signal_percent` None: unknown. `sim`: 'ready', or what is wrong, in words."""

    signal_percent: float | None
    registered: bool | None
    operator: str | None
    sim: str
    memories: tuple[MemoryRoom, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkSaid:
    """Answer to `ask_network`. `said` None: there was none, and `why`."""

    code: str
    said: str | None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownLinesSeen:
    """What the modem said that fits no known form: the shape of each line, without figures and words, and how often it came."""

    lines: tuple[tuple[str, int], ...]


ModemNews = Listed | SendEnded | SlotFreed | ModemLost | ModemReady | Condition | NetworkSaid | UnknownLinesSeen


class Modem(Protocol):
    """One owner of the serial line, on its own thread. Every call returns at once; answers come through `tell`.

    Jobs are carried out in order; a sweep goes before a waiting send when the store may be full.
    """

    def start(self, tell: Callable[[ModemNews], None]) -> None: ...
    def sweep(self) -> None: ...
    def free(self, held: Sequence[HeldPdu]) -> None: ...
    def send(self, job: SendJob) -> None: ...
    def ask_network(self, code: str) -> None:
        """A short code (USSD) to the network; waits for nothing, goes behind every message."""

    def stop(self, timeout_s: float) -> bool: ...
    def progress(self) -> float:
        """Monotonic seconds of the thread's last sign of life, for the watchdog."""
