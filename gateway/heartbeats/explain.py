"""What is on record around the start of a silence → what probably lies behind it, or None where nothing is known.

`battery`: it had lost its power, or its volts were falling before. `ours`: our own modem has no network, or several
controllers fell silent while it had none.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Literal

FALL_V_A_DAY = 0.05
"""A 12 V lead-acid battery that loses this much a day at rest is not being filled (common practice)."""

FEWEST_READINGS = 3


def explain_silence(
    *,
    power_lost: bool,
    volts: Sequence[tuple[datetime, float]],
    others_silent: int,
    our_signal: bool | None,
    since: datetime,
) -> Literal["battery", "ours"] | None:
    """The likely reason."""
    if our_signal is False:
        return "ours"
    if power_lost or _falling([one for one in volts if since - timedelta(days=7) <= one[0] <= since]):
        return "battery"
    return None


def _falling(volts: Sequence[tuple[datetime, float]]) -> bool:
    if len(volts) < FEWEST_READINGS:
        return False
    first, last = volts[0], volts[-1]
    days = (last[0] - first[0]).total_seconds() / 86_400
    return days > 0 and (first[1] - last[1]) / days >= FALL_V_A_DAY
