"""What went wrong, or what the modem says of itself → what kind it is, and whether anybody would care."""

from bisect import bisect
from typing import Literal

from gateway.errors import ModemGone, ModemHeld, ModemSilent, ModemTrouble, SimTrouble
from gateway.ports import Condition

SIGNAL_STEP_PERCENT = 25
SIGNAL_BANDS_PERCENT = (15, 25)
"""Below the first it is weak, from the second on it is well again (`flow.gateway_health`)."""


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
    band = bisect(SIGNAL_BANDS_PERCENT, was) != bisect(SIGNAL_BANDS_PERCENT, now)
    step = abs(was - now) >= SIGNAL_STEP_PERCENT
    return step or band or (old.registered, old.operator, old.sim) != (new.registered, new.operator, new.sim)
