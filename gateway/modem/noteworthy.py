"""What went wrong, or what the modem says of itself → what kind it is, and whether anybody would care."""

from bisect import bisect
from typing import Literal

from gateway.errors import ModemGone, ModemHeld, ModemSilent, ModemTrouble, SimTrouble
from gateway.gsm.signal import WEAK_PERCENT, WELL_PERCENT
from gateway.ports import Condition

SIGNAL_STEP_PERCENT = 25


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
