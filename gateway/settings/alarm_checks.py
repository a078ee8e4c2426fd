"""What the configuration says of alarms (`alarms`, `bleed`, a float's `priority`) → kinds that do not exist, and choices that hide a dry tap.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them.
"""

from collections.abc import Iterator, Mapping

from gateway.errors import Problem
from gateway.facts import KINDS
from gateway.settings.models import Settings
from gateway.settings.people_tables import AlarmKind
from gateway.settings.problem_locator import ProblemLocator, nearest_word
from gateway.settings.water_tables import Tank

HIDES_DRY_TAPS: Mapping[str, tuple[str, str]] = {
    "ran-dry": ("soon record", "nobody would be called when the taps run dry"),
    "low": ("soon record", "nobody would be called before the taps run dry"),
    "silent": ("record", "nobody would learn that a box died, and a dead box tells of no low tank"),
}
"""Kind → the priorities that are too little for it, and why. What a person gives up by it stands in `alarms --why`."""


def check_alarms(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Kinds and their priorities, floats and theirs, and the taps."""
    for kind, table in settings.alarms.items():
        yield from _check_kind(kind, table, locator)
    yield from _check_floats(settings.tanks, locator)
    yield from _check_taps(settings.bleed.taps, locator)


def _check_kind(kind: str, table: AlarmKind, locator: ProblemLocator) -> Iterator[Problem]:
    if kind not in KINDS:
        yield locator.problem(
            ("alarms", kind),
            found=kind,
            wrong=f"there is no kind of event {kind!r}",
            right=f"one of {', '.join(KINDS)}",
            suggestion=nearest_word(kind, KINDS),
        )
    too_little, consequence = HIDES_DRY_TAPS.get(kind, ("", ""))
    if table.priority and table.priority in too_little.split():
        here = ("alarms", kind, "priority")
        yield locator.note(here, found=table.priority, wrong=consequence, right="leave it out, or make it more urgent")


def _check_floats(tanks: tuple[Tank, ...], locator: ProblemLocator) -> Iterator[Problem]:
    """Low floats that would be told less urgently than the taps need: of a tank that feeds the house, or of the only one that tells."""
    feeding = {upstream for tank in tanks for upstream in tank.fed_by}
    house_is_watched = any(_has_low_float(tank) for tank in tanks if tank.id not in feeding)
    for index, tank in enumerate(tanks):
        for place, switch in enumerate(tank.floats):
            matters = tank.id not in feeding or not house_is_watched
            if switch.means == "low" and switch.priority in ("soon", "record") and matters:
                yield locator.note(
                    ("tanks", index, "floats", place, "priority"),
                    found=switch.priority,
                    wrong=f"nobody would be called when {tank.name!r} is low, and the taps may run dry",
                    right="leave it out: then the forecast decides",
                )


def _has_low_float(tank: Tank) -> bool:
    return any(switch.means == "low" for switch in tank.floats)


def _check_taps(taps: tuple[str, ...], locator: ProblemLocator) -> Iterator[Problem]:
    for index, tap in enumerate(taps):
        if not tap.strip():
            here = ("bleed", "taps", index)
            yield locator.problem(here, found=repr(tap), wrong="is empty", right='a tap\'s name, such as "laundry"')
        elif tap in taps[:index]:
            wrong, right = f"{tap!r} is named twice", "each tap once, the lowest first"
            yield locator.note(("bleed", "taps", index), found=tap, wrong=wrong, right=right)
