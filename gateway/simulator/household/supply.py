"""Water: a source, tanks one below the other, pipes between them, taps at the end. Steps of five minutes.

A tank fills from the source or from the tanks above it until it overflows at the source or its valve shuts; taps draw from the tanks
that feed no other. Nothing here knows what the gateway reckons, and nothing of it can be read by the gateway but what floats say.

Source: a spring's flow follows the seasons by a fifth and falls off by 3 % a day in a dry spell (Maillet's exponential recession, 1905;
the coefficient from memory). A ram needs its drive water: below half of it the ram stops beating and somebody must start it again
(handbooks, from memory). Pipes pass two to four times what the source gives (an assumption).
"""

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from gateway.settings.models import Settings
from gateway.settings.water_tables import RamPump, Tank
from gateway.simulator.household.nature import BAND_M, FLOAT_NOISE, HOUR_SD, SEASON_SWING, Nature
from gateway.simulator.household.troubles import Trouble, TroubleKind
from gateway.simulator.household.use import Use
from gateway.simulator.household.weather import WeatherMaker
from gateway.water.demand import monthly_celsius
from gateway.water.volumes import below_l, capacity_l, height_m

STEP = timedelta(minutes=5)
STEP_H = STEP / timedelta(hours=1)
FLOW_OFF_SD = 0.15
"""How far the configured flow of the source is from the truth (log)."""
DRAW_SHARE_SD = 0.35
"""Of the log: how far what is drawn from one of several end tanks is from its part of what they hold (an assumption)."""
RECESSION_A_DAY = 0.03
RAM_STOPS_BELOW = 0.5
FREEZES_BELOW_CELSIUS = -5.0
"""The day's mean at which a shallow pipe stands still (an assumption)."""
WINTER_IS_COLDER_BY = 14.0
DAYS_OF_USE_WHERE_NO_SIZE = 4.0
EMPTY_BELOW_L = 1.0
LOW_SHARE, HIGH_SHARE = 0.25, 0.95
"""Where a float's level is not configured."""


@dataclass(slots=True, kw_only=True)
class FloatSwitch:
    """One float of a tank: active below (low) or above (high) its litres, with a band; `stuck`: it moves no more."""

    controller: str
    input: int | str
    means: str
    at_l: float
    band_l: float
    active: bool = False
    stuck: bool = False

    def moved(self, litres: float) -> bool:
        """Whether it switches at this level; it has then."""
        if self.stuck:
            return False
        if self.means == "low":
            active = litres < self.at_l + (self.band_l if self.active else 0.0)
        else:
            active = litres > self.at_l - (self.band_l if self.active else 0.0)
        changed, self.active = active != self.active, active
        return changed


@dataclass(slots=True, kw_only=True)
class Vessel:
    """A tank: what it holds, how much it can, what its pipe from above passes (litres an hour)."""

    tank: Tank
    capacity_l: float
    litres: float
    floats: list[FloatSwitch]
    above: list[int] = field(default_factory=list)
    pipe_l_h: float = 0.0

    @property
    def is_empty(self) -> bool:
        """Whether nothing comes out of it."""
        return self.litres <= EMPTY_BELOW_L


@dataclass(frozen=True, slots=True, kw_only=True)
class Switched:
    """A float that has just changed."""

    at: datetime
    tank: str
    float: FloatSwitch


class Supply:
    """The water of a household from `start` on. `step` moves it five minutes and says which floats switched."""

    def __init__(
        self, settings: Settings, zone: tzinfo, seed: int, start: datetime, nature: Nature | None = None
    ) -> None:
        self._zone = zone
        self._rng = random.Random(f"{seed} water")
        self.at = start
        self.use = Use(random.Random(f"{seed} use"), settings.demand, nature.habits if nature else None)
        self._weather_maker = WeatherMaker(
            random.Random(f"{seed} weather"), settings.site.latitude, monthly_celsius(settings)
        )
        self._pump = settings.source.pump
        self.source_l_h = nature.source_l_h if nature else self._source_l_h()
        pipe_l_h = nature.pipe_l_h if nature else None
        self._hour_sd = nature.hour_sd if nature else HOUR_SD
        self._season_swing = nature.season_swing if nature else SEASON_SWING
        self._float_noise = nature.float_noise if nature else FLOAT_NOISE
        pipes = [pipe_l_h or self.source_l_h * self._rng.uniform(2.0, 4.0) for _ in settings.tanks]
        self.vessels = _vessels(settings.tanks, self.use.mean_l_day, pipes, nature.band_m if nature else BAND_M)
        ends = _ends(settings.tanks)
        self.tap = ends[-1] if ends else None
        self._drawn_from = self._draw_shares(ends, random.Random(f"{seed} draw"))
        self._day = -1
        self.weather = self._weather_maker.day(start.astimezone(zone).date())
        self._recession = 1.0
        self.ram_beats = True
        self.careful = False
        """The household saves water: it knows that there is little."""

    def _draw_shares(self, ends: Sequence[int], rng: random.Random) -> dict[int, float]:
        """Who draws more has more standing there, more or less."""
        drawn = {end: self.vessels[end].capacity_l * math.exp(rng.gauss(0, DRAW_SHARE_SD)) for end in ends}
        return {end: litres / sum(drawn.values()) for end, litres in drawn.items()}

    def _source_l_h(self) -> float:
        rng = self._rng
        if self._pump is None:
            return self.use.mean_l_day / 24 * rng.uniform(1.6, 3.0)
        if isinstance(self._pump, RamPump):
            efficiency = self._pump.efficiency if self._pump.efficiency is not None else 0.5
            l_min = self._pump.drive_flow_l_min * self._pump.fall_m * efficiency / self._pump.lift_m
        else:
            l_min = self._pump.flow_l_min
        return l_min * 60 * math.exp(rng.gauss(0, FLOW_OFF_SD))

    @property
    def taps_are_dry(self) -> bool:
        """Whether nothing comes from the taps."""
        return self.tap is not None and self.vessels[self.tap].is_empty

    @property
    def stuck_tank(self) -> str | None:
        """Whose float sticks when one does: that of the last tank."""
        return self.vessels[-1].tank.id if self.vessels else None

    def first_float_sticks(self, sticks: bool) -> None:
        """The first float of the last tank moves no more, or moves again."""
        for vessel in self.vessels[-1:]:
            for switch in vessel.floats[:1]:
                switch.stuck = sticks

    def step(self, troubles: Sequence[Trouble]) -> list[Switched]:
        """Five minutes on; which floats switched."""
        self.at += STEP
        local = self.at.astimezone(self._zone)
        if local.toordinal() != self._day:
            self._begin_day(local, troubles)
        kinds = {trouble.kind: trouble for trouble in troubles if trouble.lasts(self.at)}
        self._fill(self._source_now(local, kinds))
        self._pass_down("blocked-between" in kinds)
        self._draw(local, kinds)
        return [
            Switched(at=self.at, tank=vessel.tank.id, float=switch)
            for vessel in self.vessels
            for switch in vessel.floats
            if switch.moved(vessel.litres * (1 + self._rng.gauss(0, self._float_noise)))
        ]

    def _begin_day(self, local: datetime, troubles: Sequence[Trouble]) -> None:
        self._day = local.toordinal()
        winter = any(trouble.kind == "winter" and trouble.lasts(self.at) for trouble in troubles)
        colder_by = WINTER_IS_COLDER_BY if winter else 0.0
        self.weather = self._weather_maker.day(local.date(), colder_by=colder_by, dull=winter)
        self.use.begin_day(local.date(), self.weather)
        dry = any(trouble.kind == "dry-spell" and trouble.lasts(self.at) for trouble in troubles)
        self._recession = self._recession * math.exp(-RECESSION_A_DAY) if dry else min(1.0, self._recession * 1.25)

    def _source_now(self, local: datetime, kinds: Mapping[TroubleKind, Trouble]) -> float:
        """Litres an hour that reach the first tanks."""
        season = 1 - self._season_swing * self.weather.warmth
        flow = self.source_l_h * season * self._recession
        if isinstance(self._pump, RamPump):
            self.ram_beats = self.ram_beats and season * self._recession >= RAM_STOPS_BELOW
            flow *= self.ram_beats
        frozen = "winter" in kinds and self.weather.celsius < FREEZES_BELOW_CELSIUS and not 11 <= local.hour < 16
        stopped = "supply-stopped" in kinds or frozen
        return 0.0 if stopped else flow * self._rng.uniform(0.92, 1.08)

    def _fill(self, source_l_h: float) -> None:
        heads = [vessel for vessel in self.vessels if not vessel.above]
        for vessel in heads:
            vessel.litres = min(vessel.capacity_l, vessel.litres + source_l_h / len(heads) * STEP_H)

    def _pass_down(self, blocked: bool) -> None:
        for number, vessel in enumerate(self.vessels):
            if not vessel.above or (blocked and number == self.tap):
                continue
            wanted = min(vessel.pipe_l_h * STEP_H, vessel.capacity_l - vessel.litres)
            for above in vessel.above:
                upper = self.vessels[above]
                share = min(wanted / len(vessel.above), upper.litres)
                upper.litres -= share
                vessel.litres += share

    def _draw(self, local: datetime, kinds: Mapping[TroubleKind, Trouble]) -> None:
        if self.tap is None:
            return
        by_chance = math.exp(self._rng.gauss(-(self._hour_sd**2) / 2, self._hour_sd))
        drawn = self.use.litres_an_hour(local.hour) * by_chance * (0.6 if self.careful else 1.0)
        leak = kinds.get("leak")
        if leak is not None:
            more = drawn if leak.by_hours else self.use.mean_l_day / 24
            drawn += leak.size * more + self.source_l_h
        for number, share in self._drawn_from.items():
            vessel = self.vessels[number]
            vessel.litres = max(0.0, vessel.litres - drawn * share * STEP_H)


def _ends(tanks: Sequence[Tank]) -> list[int]:
    """The tanks that feed no other: water is drawn from each; the last of them is the house's."""
    feeding = {upstream for tank in tanks for upstream in tank.fed_by}
    return [number for number, tank in enumerate(tanks) if tank.id not in feeding]


def _vessels(tanks: Sequence[Tank], use_l_day: float, pipes_l_h: Sequence[float], band_m: float) -> list[Vessel]:
    numbers = {tank.id: number for number, tank in enumerate(tanks)}
    vessels = []
    for tank, pipe_l_h in zip(tanks, pipes_l_h, strict=True):
        full = capacity_l(tank.shape) if tank.shape is not None else use_l_day * DAYS_OF_USE_WHERE_NO_SIZE
        vessels.append(
            Vessel(
                tank=tank,
                capacity_l=full,
                litres=full,
                floats=[_switch(tank, number, full, band_m) for number in range(len(tank.floats))],
                above=[numbers[upstream] for upstream in tank.fed_by],
                pipe_l_h=pipe_l_h,
            )
        )
    for vessel in vessels:
        for switch in vessel.floats:
            switch.moved(vessel.litres)
    return vessels


def _switch(tank: Tank, number: int, full_l: float, band_m: float) -> FloatSwitch:
    configured = tank.floats[number]
    share = LOW_SHARE if configured.means == "low" else HIGH_SHARE
    if tank.shape is None or configured.level_m is None:
        at_l, band_l = full_l * share, full_l * 0.03
    else:
        at_l = below_l(tank.shape, configured.level_m)
        band_l = below_l(tank.shape, min(configured.level_m + band_m, height_m(tank.shape))) - at_l
    return FloatSwitch(
        controller=configured.controller,
        input=configured.input,
        means=configured.means,
        at_l=at_l,
        band_l=max(band_l, full_l * 0.005),
    )
