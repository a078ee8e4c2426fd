"""An invented supply, lived through by the one simulator (`gateway/simulator/household`), one trouble after the other.

What the floats say is all that the forecasts get; when the house tank was really dry or full is kept aside, and so is what the supply is
really like (`Nature`): the configuration that the gateway sees holds the household's own figures.
"""

import random
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

from gateway.settings.load import load_text
from gateway.settings.models import Settings
from gateway.simulator.household.nature import Habits, Nature
from gateway.simulator.household.supply import Supply, Switched
from gateway.simulator.household.troubles import CAUSE_OF, Trouble, TroubleKind
from gateway.simulator.household.use import Use
from gateway.simulator.household.weather import Weather

START = datetime(2026, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """One tank: capacity, litres below its low float, and (0: none) at its high float."""

    id: str
    capacity: float
    low: float
    high: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """A family of parameters. `use` is the true mean; `inflow` the source's, `pipe` what comes down between tanks, litres a day.

    `weekend`: use on two days of seven, times the others'; `heavy`: what a leak or a hose takes, in times the use,
    around the clock if it `leaks`, else by the house's hours (a garden, guests). `in_trouble`: use while a trouble lasts, over the usual, after
    the first `as_usual` troubles;
    `season`: by how much more the source gives in the coldest weeks, and less in the warmest.
    """

    tanks: tuple[Vessel, ...]
    use: float
    inflow: float
    pipe: float
    day_sd: float = 0.2
    hour_sd: float = 0.4
    hysteresis: float = 0.03
    pattern: tuple[float, ...] = ()
    weekend: float = 1.0
    heavy: tuple[float, float] = (4, 9)
    leaks: bool = True
    in_trouble: float = 1.0
    as_usual: int = 0
    season: float = 0.0
    ram: bool = False


@dataclass(slots=True)
class Episode:
    """One trouble: what it was, when it was made, when the house tank was low, dry, over and full."""

    trouble: str
    began: datetime
    low_at: datetime | None = None
    dry_at: datetime | None = None
    over_at: datetime | None = None
    full_at: datetime | None = None


@dataclass(slots=True)
class Story:
    """What happened: (time, tank, kind) as floats said it, and the truth."""

    switches: list[tuple[datetime, str, str]] = field(default_factory=list)
    episodes: list[Episode] = field(default_factory=list)


EVENING = tuple(0.3 if h < 6 else 1.8 if h in (7, 8, 18, 19, 20) else 0.95 for h in range(24))
FLAT = (1.0,) * 24
FLOAT_NOISE = 0.01
MENDED_AFTER, GIVEN_UP_AFTER = timedelta(hours=4), timedelta(days=60)
FULL_SHARE = 0.985
RAM_DELIVERS = 0.6 * 3 / 30
"""Of its drive flow: efficiency times fall over lift."""


def settings_of(world: World, figure: float, source: float | None = 1.0) -> Settings:
    """The household's configuration, its own figures for use and source off by a factor; None: no figure for the source."""
    tanks = ""
    for index, tank in enumerate(world.tanks):
        fed = f'fed_by = ["{world.tanks[index - 1].id}"]' if index else ""
        tanks += f'[[tanks]]\nid = "{tank.id}"\nname = "{tank.id.title()} tank"\n{fed}\n'
        tanks += f'shape = {{ kind = "litres", litres = {tank.capacity}, height_m = 1.0 }}\n'
        for number, (means, litres) in enumerate((("low", tank.low), ("high", tank.high))):
            if litres:
                tanks += f'[[tanks.floats]]\ncontroller = "box"\ninput = {index * 2 + number + 1}\n'
                tanks += f'means = "{means}"\nlevel_m = {litres / tank.capacity}\n'
    text = (
        '[site]\nname = "Quandong Ridge"\ntimezone = "UTC"\ncountry = "AU"\n[modem]\ndevice = "simulated"\n'
        f'[[controllers]]\nid = "box"\nname = "Box"\nnumber = "0491 570 006"\n{tanks}'
        + ("" if source is None else f"[source]\npump = {_pump(world.inflow * source / 1440, ram=world.ram)}\n")
        + f"[demand]\npeople = 1\nlitres_per_person_day = {world.use * figure}\n"
    )
    return load_text(text, "simulated.toml").settings


def _pump(l_min: float, *, ram: bool) -> str:
    if not ram:
        return f'{{ kind = "steady", flow_l_min = {l_min} }}'
    return f'{{ kind = "ram", drive_flow_l_min = {l_min / RAM_DELIVERS}, fall_m = 3, lift_m = 30, efficiency = 0.6 }}'


def simulate(world: World, seed: int, troubles: int) -> Story:
    """So many troubles, one after the other, each until the house tank was dry and full again (or it was given up)."""
    life = _Life(world, seed)
    end = START + GIVEN_UP_AFTER * (troubles + 1)
    while (len(life.story.episodes) < troubles or life.episode is not None) and life.supply.at <= end:
        life.step()
    return life.story


class _People:
    """What is drawn, times as many people."""

    def __init__(self, use: Use) -> None:
        self._use, self.times, self.mean_l_day = use, 1.0, use.mean_l_day

    def begin_day(self, day: date, weather: Weather) -> None:
        """As in the house itself."""
        self._use.begin_day(day, weather)

    def litres_an_hour(self, hour: int) -> float:
        """As in the house itself, so many times."""
        return self._use.litres_an_hour(hour) * self.times


class _Life:
    """One supply and its troubles."""

    def __init__(self, world: World, seed: int) -> None:
        self._world, self._rng = world, random.Random(seed)
        self.supply = Supply(settings_of(world, 1.0), UTC, seed, START, nature_of(world))
        self._people = self.supply.use = _People(self.supply.use)  # type: ignore[assignment]
        self.story = Story()
        self.episode: Episode | None = None
        self._trouble: Trouble | None = None
        self._next_at = START + timedelta(days=self._rng.uniform(2, 5))

    def step(self) -> None:
        """Five minutes."""
        if self.episode is None and self.supply.at >= self._next_at:
            self._begin()
        other = self._trouble is not None and len(self.story.episodes) > self._world.as_usual
        self._people.times = self._world.in_trouble if other else 1.0
        for switched in self.supply.step([self._trouble] if self._trouble is not None else []):
            self._note(switched)
        if self.episode is not None:
            self._go_on(self.episode)

    def _begin(self) -> None:
        kinds: tuple[TroubleKind, ...] = ("supply-stopped", "leak", "blocked-between")
        kind = self._rng.choice(kinds if len(self._world.tanks) > 1 else kinds[:2])
        self._trouble = Trouble(
            kind=kind, began=self.supply.at, size=self._rng.uniform(*self._world.heavy), by_hours=not self._world.leaks
        )
        self.episode = Episode(CAUSE_OF[kind], self.supply.at)
        self.story.episodes.append(self.episode)

    def _note(self, switched: Switched) -> None:
        kind = switched.float.means if switched.float.active else f"{switched.float.means}-over"
        self.story.switches.append((switched.at, switched.tank, kind))
        episode = self.episode
        if episode is None or switched.tank != self._world.tanks[-1].id:
            return
        if kind == "low" and episode.low_at is None:
            episode.low_at = switched.at
        elif kind == "low-over" and episode.dry_at is not None and episode.over_at is None:
            episode.over_at = switched.at

    def _go_on(self, episode: Episode) -> None:
        """It runs dry, is mended some hours later, and is over once the house tank is full; or nothing comes of it."""
        at = self.supply.at
        if episode.dry_at is None and episode.low_at is not None and self.supply.taps_are_dry:
            episode.dry_at = at
        if episode.dry_at is not None and at - episode.dry_at > MENDED_AFTER:
            self._trouble = None
            house = self.supply.vessels[-1]
            if house.litres >= house.capacity_l * FULL_SHARE:
                episode.full_at = at
                self._end(timedelta(days=self._rng.uniform(3, 8)))
        elif at - episode.began > GIVEN_UP_AFTER:
            self.story.episodes.remove(episode)
            self._end(timedelta(days=5))

    def _end(self, rest: timedelta) -> None:
        self.episode = self._trouble = None
        self._next_at = self.supply.at + rest


def nature_of(world: World) -> Nature:
    """What no configuration says."""
    pattern = world.pattern or EVENING
    mean = sum(pattern) / len(pattern)
    return Nature(
        habits=Habits(
            truth=1.0,
            hours=tuple(share / mean for share in pattern),
            day_sd=world.day_sd,
            weekend=world.weekend,
            outdoors=0.0,
        ),
        source_l_h=world.inflow / 24,
        pipe_l_h=world.pipe / 24,
        hour_sd=world.hour_sd,
        season_swing=world.season,
        band_m=world.hysteresis,
        float_noise=FLOAT_NOISE,
    )
