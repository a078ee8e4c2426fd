"""Gauges and inputs that are no tank's → what does not hold in them, and inputs that two of a configuration claim.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them.
"""

from collections.abc import Iterator
from itertools import pairwise

from gateway.errors import Problem
from gateway.facts import input_key
from gateway.settings.controller_tables import Input
from gateway.settings.key_lines import KeyPath
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator, nearest_word
from gateway.settings.water_tables import Gauge, Tank

NEEDS_HEIGHT = ("percent", "mA", "litres")
"""What a gauge may read that says no height by itself: without `points` it takes the tank's shape."""

Claim = tuple[KeyPath, str, int | str, str]
"""Where it stands, its controller, its input, and whose it is in words."""


def check_inputs(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Whatever names an input: its controller is there, and nobody else claims the input."""
    controller_ids = {controller.id for controller in settings.controllers}
    claimed: dict[tuple[str, str], str] = {}
    for here, controller, input, whose in _claims(settings):
        if controller not in controller_ids:
            yield _unknown_controller(controller, controller_ids, here, locator)
        claim = (controller, input_key(input))
        if claim in claimed:
            wrong = f"input {input} of {controller!r} is claimed by {claimed[claim]} already"
            yield locator.problem((*here, "input"), found=input, wrong=wrong, right="an input belongs to one alone")
        claimed.setdefault(claim, whose)
    for index, own in enumerate(settings.inputs):
        yield from _check_words(own, ("inputs", index), locator)


def check_gauges(tank: Tank, index: int, height: float | None, locator: ProblemLocator) -> Iterator[Problem]:
    """A tank's gauges: points that rise or fall, a height where one is needed, limits within it. `height`: the tank's, if it is known."""
    for place, gauge in enumerate(tank.gauges):
        here = ("tanks", index, "gauges", place)
        if gauge.points:
            yield from _check_points(gauge.points, height, (*here, "points"), locator)
        elif tank.shape is None and gauge.reads in NEEDS_HEIGHT:
            wrong = f"nothing says which height a reading in {gauge.reads} stands for"
            right = "the tank's shape, or points = [[reading, height in m], …]"
            yield locator.problem((*here, "reads"), found=gauge.reads, wrong=wrong, right=right)
        yield from _check_limits(gauge, height, here, locator)


def _claims(settings: Settings) -> Iterator[Claim]:
    for index, tank in enumerate(settings.tanks):
        for place, switch in enumerate(tank.floats):
            yield ("tanks", index, "floats", place), switch.controller, switch.input, f"a float of {tank.id!r}"
        for place, gauge in enumerate(tank.gauges):
            yield ("tanks", index, "gauges", place), gauge.controller, gauge.input, f"a gauge of {tank.id!r}"
    for index, own in enumerate(settings.inputs):
        yield ("inputs", index), own.controller, own.input, f"the input {own.name!r}"


def _unknown_controller(controller: str, known: set[str], here: KeyPath, locator: ProblemLocator) -> Problem:
    return locator.problem(
        (*here, "controller"),
        found=controller,
        wrong=f"there is no controller {controller!r}",
        right=f"one of {', '.join(sorted(known))}",
        suggestion=nearest_word(controller, known),
    )


def _check_words(own: Input, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    for key, words in (("active_says", own.active_says), ("idle_says", own.idle_says)):
        if not words.strip():
            right = 'what the message says of it, such as "is open"'
            yield locator.problem((*here, key), found=repr(words), wrong="is empty", right=right)


def _check_points(
    points: tuple[tuple[float, float], ...], height: float | None, here: KeyPath, locator: ProblemLocator
) -> Iterator[Problem]:
    readings = [reading for reading, _ in points]
    heights = [level for _, level in points]
    if len(points) < 2 or not _rises(readings) or not (_rises(heights) or _rises(heights[::-1])):
        yield locator.problem(
            here,
            found=f"{len(points)} points",
            wrong="the points do not rise from reading to reading, with heights that all rise or all fall",
            right="at least two [reading, height in m] pairs, such as [[4, 0], [20, 1.8]]",
        )
    elif min(heights) < 0 or (height is not None and max(heights) > height):
        beyond = f"above the tank's height of {height:g} m" if height is not None and min(heights) >= 0 else "below 0"
        yield locator.problem(here, found=max(heights), wrong=f"a height is {beyond}", right="[reading, height in m]")


def _rises(figures: list[float]) -> bool:
    return all(lower < higher for lower, higher in pairwise(figures))


def _check_limits(gauge: Gauge, height: float | None, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    for key, level in (("low_m", gauge.low_m), ("high_m", gauge.high_m)):
        if height is not None and level > height:
            wrong = f"a level of {level:g} m is above the tank's height of {height:g} m"
            yield locator.problem((*here, key), found=level, wrong=wrong, right="the water's height above the outlet")
    if gauge.low_m and gauge.high_m and gauge.low_m + gauge.band_m >= gauge.high_m - gauge.band_m:
        wrong = (
            f"low at {gauge.low_m:g} m and high at {gauge.high_m:g} m leave no room for a band of {gauge.band_m:g} m"
        )
        yield locator.problem((*here, "high_m"), found=gauge.high_m, wrong=wrong, right="a high_m well above low_m")
    if not gauge.low_m and not gauge.high_m:
        wrong = "it is only looked at: it tells nobody that the tank is low"
        yield locator.note((*here, "low_m"), found="0", wrong=wrong, right="low_m = the height below which it is low")
