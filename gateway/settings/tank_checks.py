"""The tables of the water (`tanks`, `source`, `demand`) → what does not hold between them and with the rest.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them.
"""

from collections.abc import Iterable, Iterator
from itertools import pairwise

from gateway.errors import Problem
from gateway.settings.gauge_checks import check_gauges, check_inputs
from gateway.settings.key_lines import KeyPath
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator, nearest_word
from gateway.settings.water_tables import Animals, LyingCylinder, Pump, RamPump, Shape, Tank, VolumeTable

LEVEL = "the water's height above the outlet at which the float switches"
LEAST_FALL_M = 0.5
"""Of a ram: Water for the World, technical note RWS.4.D.5 (ram_practice.csv)."""
SOURCE = "source"
"""What a pipe begins at that comes from no tank."""
ANIMAL_KINDS = (
    "dairy cow",
    "lactating cattle",
    "lactating cow",
    "beef cow",
    "dry cow",
    "non-lactating cattle",
    "heifer",
    "steer",
    "bull",
    "calf",
    "working horse",
    "horse",
    "sheep",
    "lamb",
    "sow",
    "poultry",
    "hen",
    "laying hen",
    "broiler",
    "lactating ewe",
    "goat",
    "milking goat",
    "gestating sow",
    "lactating sow",
    "weaner pig",
    "growing pig",
    "finishing pig",
)
"""Animals for which a published daily water figure is known (the figures stand in the water room)."""


def check_water(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Whatever names an input, levels and gauges, shapes, which tank feeds which, pump and animals."""
    tank_ids = {tank.id for tank in settings.tanks}
    for index, tank in enumerate(settings.tanks):
        yield from _check_upstream(tank, index, tank_ids, locator)
        if isinstance(tank.shape, VolumeTable):
            yield from _check_points(tank.shape.points, ("tanks", index, "shape", "points"), locator)
        if not tank.floats and not tank.gauges:
            wrong = "no text can reach this tank: it has no floats and no gauge"
            right = "add [[tanks.floats]] or [[tanks.gauges]]"
            yield locator.note(("tanks", index, "id"), found=tank.id, wrong=wrong, right=right)
    yield from check_inputs(settings, locator)
    yield from _check_floats(settings, locator)
    yield from _check_loops(settings.tanks, locator)
    yield from _check_pipes(settings, locator)
    yield from _check_ram(settings.source.pump, locator)
    yield from _check_animals(settings.demand.animals, locator)


def _check_upstream(tank: Tank, index: int, tank_ids: set[str], locator: ProblemLocator) -> Iterator[Problem]:
    for upstream_id in tank.fed_by:
        if upstream_id not in tank_ids:
            yield locator.problem(
                ("tanks", index, "fed_by"),
                found=upstream_id,
                wrong=f"there is no tank {upstream_id!r}",
                right=f"one of {', '.join(sorted(tank_ids))}",
                suggestion=nearest_word(upstream_id, tank_ids),
            )


def _check_pipes(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Both ends are known, and the lower one is fed by the upper one."""
    tanks = {tank.id: tank for tank in settings.tanks}
    for index, pipe in enumerate(settings.pipes):
        ends = ("from", pipe.upper, {*tanks, SOURCE}), ("to", pipe.lower, set(tanks))
        unknown = [(key, end, known) for key, end, known in ends if end not in known]
        for key, end, known in unknown:
            yield locator.problem(
                ("pipes", index, key),
                found=end,
                wrong=f"there is no tank {end!r}",
                right=f"one of {', '.join(sorted(known))}",
                suggestion=nearest_word(end, known),
            )
        if not unknown and pipe.upper != SOURCE and pipe.upper not in tanks[pipe.lower].fed_by:
            wrong = f"{pipe.lower!r} is not fed by {pipe.upper!r}"
            yield locator.problem(
                ("pipes", index, "to"),
                found=pipe.lower,
                wrong=wrong,
                right=f'fed_by = ["{pipe.upper}"] at {pipe.lower}',
            )
        if pipe.fall_m > pipe.length_m:
            wrong = "it falls further than it is long"
            yield locator.problem(
                ("pipes", index, "fall_m"), found=pipe.fall_m, wrong=wrong, right=f"at most {pipe.length_m:g}"
            )


def _check_points(points: tuple[tuple[float, float], ...], here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    rises = all(
        level < higher_level and litres <= more_litres
        for (level, litres), (higher_level, more_litres) in pairwise(points)
    )
    if len(points) < 2 or not rises or points[0][0] < 0 or points[0][1] < 0:
        yield locator.problem(
            here,
            found=f"{len(points)} points",
            wrong="the table does not rise from line to line",
            right="at least two [level_m, litres] pairs, both rising",
        )


def _check_floats(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    for index, tank in enumerate(settings.tanks):
        for place, switch in enumerate(tank.floats):
            here = ("tanks", index, "floats", place)
            yield from _check_level(tank.shape, switch.level_m, (*here, "level_m"), locator)
        yield from check_gauges(tank, index, _height(tank.shape), locator)
        yield from _check_order(tank, index, locator)


def _check_order(tank: Tank, index: int, locator: ProblemLocator) -> Iterator[Problem]:
    """A low float stands below the high one of its tank, else both say the opposite of what they should."""
    highest = min((switch.level_m for switch in tank.floats if switch.means == "high" and switch.level_m), default=None)
    for place, switch in enumerate(tank.floats):
        if switch.means == "low" and switch.level_m is not None and highest is not None and switch.level_m >= highest:
            yield locator.note(
                ("tanks", index, "floats", place, "level_m"),
                found=switch.level_m,
                wrong=f"the low float of {tank.name!r} stands at or above its high one ({highest:g} m)",
                right="is one of the two meant the other way round, or its level_m another's?",
            )


def _check_level(shape: Shape | None, level: float | None, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    if level is None:
        if shape is not None:
            right = LEVEL.replace("the float", "it")
            yield locator.note(here, found="nothing", wrong="without it no time left can be worked out", right=right)
        return
    height = _height(shape)
    if level < 0 or (height is not None and level > height):
        above = "is not possible" if height is None or level < 0 else f"is above the tank's height of {height:g} m"
        yield locator.problem(here, found=level, wrong=f"a level of {level:g} m {above}", right=LEVEL)


def _height(shape: Shape | None) -> float | None:
    if shape is None:
        return None
    if isinstance(shape, LyingCylinder):
        return shape.diameter_m
    if isinstance(shape, VolumeTable):
        return max((level for level, _ in shape.points), default=None)
    return shape.height_m


def _check_loops(tanks: tuple[Tank, ...], locator: ProblemLocator) -> Iterator[Problem]:
    upstream = {tank.id: tank.fed_by for tank in tanks}
    for index, tank in enumerate(tanks):
        if tank.id in _all_upstream(tank.id, upstream):
            wrong, right = f"{tank.id!r} feeds itself in a loop", "water runs one way: name only tanks upstream"
            yield locator.problem(("tanks", index, "fed_by"), found=tank.id, wrong=wrong, right=right)


def _all_upstream(tank_id: str, upstream: dict[str, tuple[str, ...]]) -> set[str]:
    """Every tank whose water can get to this one, itself among them where its water runs in a loop."""
    reached: set[str] = set()
    to_visit = list(upstream[tank_id])
    while to_visit:
        next_id = to_visit.pop()
        if next_id not in reached:
            reached.add(next_id)
            to_visit.extend(upstream.get(next_id, ()))
    return reached


def _check_ram(pump: Pump | None, locator: ProblemLocator) -> Iterator[Problem]:
    if isinstance(pump, RamPump) and pump.lift_m <= pump.fall_m:
        yield locator.problem(
            ("source", "pump", "lift_m"),
            found=pump.lift_m,
            wrong="a ram that lifts less than it falls is none",
            right="lift_m from the ram up to where the water enters the tank",
        )
    if isinstance(pump, RamPump) and pump.fall_m < LEAST_FALL_M:
        yield locator.note(
            ("source", "pump", "fall_m"),
            found=pump.fall_m,
            wrong=f"a ram hardly runs on less than {LEAST_FALL_M:g} m of fall",
            right="fall_m from the drive tank down to the ram, in metres",
        )


def _check_animals(animals: Iterable[Animals], locator: ProblemLocator) -> Iterator[Problem]:
    for index, herd in enumerate(animals):
        if herd.litres_per_head_day is None and herd.kind not in ANIMAL_KINDS:
            yield locator.problem(
                ("demand", "animals", index, "kind"),
                found=herd.kind,
                wrong=f"no published figure is known for {herd.kind!r}",
                right=f"litres_per_head_day = …, or one of {', '.join(ANIMAL_KINDS)}",
                suggestion=nearest_word(herd.kind, ANIMAL_KINDS),
            )
