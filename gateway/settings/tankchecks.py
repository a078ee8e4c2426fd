"""Tanks that each hold by themselves → what does not hold between them and the rest.

In: Settings and a `Locate`. Out: problems, warnings among them.
"""

from collections.abc import Iterator
from itertools import pairwise

from gateway.errors import Problem
from gateway.facts import input_key
from gateway.settings import models as m
from gateway.settings.problems import Locate, near


def tank_checks(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    """Floats and their controllers, claims, levels, shapes, and which tank feeds which."""
    controllers = {one.id for one in settings.controllers}
    tanks = {one.id for one in settings.tanks}
    claimed: dict[tuple[str, str], str] = {}
    for index, tank in enumerate(settings.tanks):
        for upstream in tank.fed_by:
            if upstream not in tanks:
                yield locate.problem(
                    ("tanks", index, "fed_by"),
                    found=upstream,
                    wrong=f"there is no tank {upstream!r}",
                    right=f"one of {', '.join(sorted(tanks))}",
                    suggestion=near(upstream, tanks),
                )
        if tank.shape is not None:
            yield from _shape(tank.shape, ("tanks", index, "shape"), locate)
        for number, one in enumerate(tank.floats):
            here = ("tanks", index, "floats", number)
            if one.controller not in controllers:
                yield locate.problem(
                    (*here, "controller"),
                    found=one.controller,
                    wrong=f"there is no controller {one.controller!r}",
                    right=f"one of {', '.join(sorted(controllers))}",
                    suggestion=near(one.controller, controllers),
                )
            claim = (one.controller, input_key(one.input))
            if claim in claimed:
                yield locate.problem(
                    (*here, "input"),
                    found=one.input,
                    wrong=f"input {one.input} of {one.controller!r} is claimed by a float of {claimed[claim]!r} already",
                    right="one float an input",
                )
            claimed[claim] = tank.id
            yield from _level(tank, one, here, locate)
        if not tank.floats:
            yield locate.problem(
                ("tanks", index, "id"),
                found=tank.id,
                wrong="no text can reach this tank: it has no floats",
                right="add [[tanks.floats]]",
                warning=True,
            )
    yield from _loops(settings, locate)


def _level(tank: m.Tank, one: m.Float, here: tuple[str | int, ...], locate: Locate) -> Iterator[Problem]:
    if one.level_m is None:
        if tank.shape is not None:
            yield locate.problem(
                (*here, "level_m"),
                found="nothing",
                wrong="without it no time left can be worked out",
                right="the water's height above the outlet at which it switches",
                warning=True,
            )
        return
    height = _height(tank.shape)
    if one.level_m < 0 or (height is not None and one.level_m > height):
        above = f"is above the tank's height of {height:g} m" if height is not None else "is not possible"
        yield locate.problem(
            (*here, "level_m"),
            found=one.level_m,
            wrong=f"a level of {one.level_m:g} m {above}",
            right="the water's height above the outlet at which the float switches",
        )


def _height(shape: m.Shape | None) -> float | None:
    if shape is None:
        return None
    if isinstance(shape, m.LyingCylinder):
        return shape.diameter_m
    if isinstance(shape, m.VolumeTable):
        return max((level for level, _ in shape.points), default=None)
    return shape.height_m


def _shape(shape: m.Shape, here: tuple[str | int, ...], locate: Locate) -> Iterator[Problem]:
    if not isinstance(shape, m.VolumeTable):
        return
    points = shape.points
    rises = all(a[0] < b[0] and a[1] <= b[1] for a, b in pairwise(points))
    if len(points) < 2 or not rises or points[0][0] < 0 or points[0][1] < 0:
        yield locate.problem(
            (*here, "points"),
            found=f"{len(points)} points",
            wrong="the table does not rise from line to line",
            right="at least two [level_m, litres] pairs, both rising",
        )


def _loops(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    feeds = {tank.id: tank.fed_by for tank in settings.tanks}
    for index, tank in enumerate(settings.tanks):
        seen: set[str] = set()
        front: list[str] = list(tank.fed_by)
        while front:
            one = front.pop()
            if one == tank.id:
                yield locate.problem(
                    ("tanks", index, "fed_by"),
                    found=tank.id,
                    wrong=f"{tank.id!r} feeds itself in a loop",
                    right="water runs one way: name only tanks upstream",
                )
                break
            if one not in seen:
                seen.add(one)
                front.extend(feeds.get(one, ()))
