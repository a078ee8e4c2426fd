"""What is on record around the start of a silence → what probably lies behind it, and on what evidence.

`battery`: it had lost its power, its volts were falling, or it is a month in which its sun does not cover its use. `ours`: our own
modem has no network; with evidence against its battery that must hold for several controllers at once. Nothing else is guessed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import combinations
from statistics import median
from typing import Any, Literal

FALL_V_A_DAY = 0.05
"""A 12 V lead-acid battery that loses this much a day at rest is not being filled (common practice)."""

FEWEST_READINGS = 3
LOOK_BACK = timedelta(days=7)
MOST_READINGS = 100
DAY_S = 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """`kind` and `because` are keys for the phrases; `data` holds what they may name, in JSON values."""

    kind: Literal["battery", "ours", "unknown"]
    because: Literal["power-lost", "falling-volts", "sun-short", "no-signal"] | None = None
    data: Mapping[str, Any] = field(default_factory=dict)


def why_silent(
    *,
    power_lost: bool,
    volts: Sequence[tuple[datetime, float]],
    others_silent: int,
    our_signal: bool | None,
    since: datetime,
    nominal_v: float = 12.0,
    sun_short: bool = False,
) -> Why:
    """The likely reason. `volts`: believable readings; `sun_short`: in this month the outlook's charge is below its use."""
    battery = _battery(power_lost, volts, since, nominal_v, sun_short)
    if our_signal is False and (others_silent > 0 or battery is None):
        return Why(kind="ours", because="no-signal", data={"others_silent": others_silent})
    return battery or Why(kind="unknown")


def _battery(
    power_lost: bool, volts: Sequence[tuple[datetime, float]], since: datetime, nominal_v: float, sun_short: bool
) -> Why | None:
    if power_lost:
        return Why(kind="battery", because="power-lost")
    recent = sorted(reading for reading in volts if since - LOOK_BACK <= reading[0] <= since)[-MOST_READINGS:]
    fall = _fall_v_a_day(recent)
    if fall is not None and fall >= FALL_V_A_DAY * nominal_v / 12:
        data = {"volts": recent[-1][1], "fall_v_a_day": round(fall, 3)}
        return Why(kind="battery", because="falling-volts", data=data)
    return Why(kind="battery", because="sun-short") if sun_short else None


def _fall_v_a_day(volts: Sequence[tuple[datetime, float]]) -> float | None:
    """The middle one of the slopes between all pairs a good part of a day apart, so that one odd reading moves little (Theil, Sen)."""
    if len(volts) < FEWEST_READINGS:
        return None
    slopes = [
        (first[1] - last[1]) / ((last[0] - first[0]).total_seconds() / DAY_S)
        for first, last in combinations(volts, 2)
        if last[0] - first[0] >= timedelta(hours=12)
    ]
    return median(slopes) if slopes else None
