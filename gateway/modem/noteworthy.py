"""What went wrong, what the modem says of itself, what it holds → what kind it is, and whether anybody would care."""

from bisect import bisect
from collections.abc import Collection, Sequence
from typing import Literal

from gateway.errors import ModemGone, ModemHeld, ModemSilent, ModemTrouble, SimTrouble
from gateway.facts import HeldPdu
from gateway.gsm.signal import WEAK_PERCENT, WELL_PERCENT
from gateway.ports import Condition

SIGNAL_STEP_PERCENT = 25
TOLD_AGAIN_AFTER_S = 60.0


def kind_of(trouble: ModemTrouble) -> Literal["gone", "held", "silent", "sim", "refused"]:
    """How a session ended."""
    if isinstance(trouble, ModemHeld):
        return "held"
    if isinstance(trouble, SimTrouble):
        return "sim"
    if isinstance(trouble, ModemSilent):
        return "silent"
    return "gone" if isinstance(trouble, ModemGone) else "refused"


def differs(old: Condition, new: Condition) -> bool:
    """Whether anybody would care."""
    was, now = old.signal_percent or 0, new.signal_percent or 0
    bands = (WEAK_PERCENT, WELL_PERCENT)
    band = bisect(bands, was) != bisect(bands, now)
    step = abs(was - now) >= SIGNAL_STEP_PERCENT
    return step or band or (old.registered, old.operator, old.sim) != (new.registered, new.operator, new.sim)


class Told:
    """What of a memory was told, and when, so that a slot not yet freed is not told at every sweep."""

    def __init__(self) -> None:
        self._at: dict[tuple[str, int | None, str], float] = {}

    def new(self, held: Sequence[HeldPdu], now_s: float, memories: Collection[str]) -> tuple[HeldPdu, ...]:
        """What was not told within a minute, now taken as told; what stands in these memories no more is forgotten.

        `now_s`: monotonic.
        """
        new = tuple(one for one in held if now_s - self._at.get(_place(one), float("-inf")) >= TOLD_AGAIN_AFTER_S)
        present = {_place(one) for one in held}
        self._at = {place: at for place, at in self._at.items() if place in present or place[0] not in memories} | {
            _place(one): now_s for one in new
        }
        return new

    def forget(self, held: HeldPdu) -> None:
        """The slot was freed."""
        self._at.pop(_place(held), None)

    def forget_all(self) -> None:
        """Whatever stands there is told again."""
        self._at.clear()


def _place(held: HeldPdu) -> tuple[str, int | None, str]:
    return held.memory, held.slot, held.pdu
