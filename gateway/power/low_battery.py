"""Voltages (or percents) as they are read → low once per episode, well again once.

An episode begins when a believable voltage is at or under the low limit, and ends when it has risen well above it. Under a weak winter
sun a tired battery falls each night and is lifted each noon: where it fell again within two days of having been well, it counts as
well only after a day and a night above the limit, so that nobody is called twice a day. What cannot be (0.3 V, 60 V from a 12 V box)
is kept as read and not believed. A text that comes late is evidence of then, not of now.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.states.controllers_and_tanks import BatteryEpisode
from gateway.power.battery_charge import volts_at_25
from gateway.settings.controller_tables import Power

LOW_V_PER_12V = {"lead-acid": 12.0, "agm": 12.1, "gel": 12.1, "lifepo4": 12.8}
"""Rest voltage of one that is weak (B2: SG 1.16), an AGM at a third of its charge (B3); lifepo4: common practice."""
RISE_V_PER_12V = 0.4
LOW_PERCENT = 25.0
WELL_PERCENT = 40.0
BELIEVED = (0.6, 1.5)
"""Share of the nominal voltage that a battery can show: 7.2 to 18 V for 12 V (common practice)."""
USUAL_V = 12.0
"""What a box without a [controllers.power] table is taken for, if its volts can be that."""
RELAPSE = timedelta(days=2)
DAY_AND_NIGHT = timedelta(hours=20)
LATEST = timedelta(days=7)
"""A reading older than the last by more than this means that the clock was put right, not that a text was late."""

What = Literal["battery-low", "battery-back"]


def distrust_future(episode: BatteryEpisode, latest: datetime) -> BatteryEpisode:
    """The episode without a last reading that cannot have been yet: it would make every text a late one."""
    ahead = episode.last_at is not None and episode.last_at > latest
    return replace(episode, last_at=None) if ahead else episode


def judge_volts(
    episode: BatteryEpisode, at: datetime, volts: float, celsius: float | None, power: Power | None
) -> tuple[BatteryEpisode, What | None]:
    """The episode after one more reading, and what is told."""
    nominal = power.battery.volts if power else USUAL_V
    if not believable(volts, nominal) or _late(episode, at):
        return episode, None
    limit = low_limit(power)
    level = volts_at_25(volts, nominal, celsius)
    after = replace(episode, last_volts=volts, last_at=at)
    return _turned(after, at, low=level <= limit, well=level >= limit + RISE_V_PER_12V * nominal / 12)


def judge_percent(episode: BatteryEpisode, at: datetime, percent: float) -> tuple[BatteryEpisode, What | None]:
    """The same for a box that tells its charge in percent and no volts."""
    if not 0 <= percent <= 100 or _late(episode, at):
        return episode, None
    return _turned(replace(episode, last_at=at), at, low=percent <= LOW_PERCENT, well=percent >= WELL_PERCENT)


def believable(volts: float, nominal: float) -> bool:
    """Whether a battery of that nominal voltage can show it."""
    return BELIEVED[0] * nominal <= volts <= BELIEVED[1] * nominal


def nominal_v(power: Power | None, readings: Sequence[float]) -> float | None:
    """The battery's nominal voltage: the configuration's, else 12 if any reading can be that, else None: unknown."""
    if power is not None:
        return power.battery.volts
    return USUAL_V if any(believable(volts, USUAL_V) for volts in readings) else None


def low_limit(power: Power | None) -> float:
    """The voltage at which the battery is low."""
    if power is None:
        return LOW_V_PER_12V["lead-acid"]
    if power.battery.low_volts is not None:
        return power.battery.low_volts
    return LOW_V_PER_12V.get(power.battery.chemistry, LOW_V_PER_12V["lead-acid"]) * power.battery.volts / 12


def _late(episode: BatteryEpisode, at: datetime) -> bool:
    return episode.last_at is not None and episode.last_at - LATEST <= at < episode.last_at


def _turned(episode: BatteryEpisode, at: datetime, *, low: bool, well: bool) -> tuple[BatteryEpisode, What | None]:
    if episode.low_since is None:
        if not low:
            return episode, None
        again = episode.back_at is not None and at - episode.back_at <= RELAPSE
        return replace(episode, low_since=at, well_since=None, relapsed=again), "battery-low"
    if not well:
        return replace(episode, well_since=None), None
    since = episode.well_since or at
    if episode.relapsed and at - since < DAY_AND_NIGHT:
        return replace(episode, well_since=since), None
    return replace(episode, low_since=None, well_since=None, relapsed=False, back_at=at), "battery-back"
