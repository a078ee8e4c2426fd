"""What would have made a difference in the days that were lived: a float higher up, a second panel, a shorter `silence_after`."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.ports import Reader
from gateway.rehearsal.account import Account
from gateway.rehearsal.lived_through import Lived
from gateway.simulator.household.supply import STEP
from gateway.water.volumes import below_l, height_m

HIGHER_M = 0.2
"""How much higher the low float is tried."""
FLAT_BELOW = 0.2
"""A lead-acid battery below a fifth of its charge ages fast (common practice)."""


def differences(reader: Reader, lived: Lived, account: Account) -> Iterator[str]:
    """A sentence for each change that would have told."""
    yield from _float_higher(lived)
    for controller, lowest in account.lowest_charge.items():
        if lowest < FLAT_BELOW:
            name = lived.site.controller_name(controller)
            more = account.with_second_panel[controller]
            yield f"A second panel on {name}: its battery's lowest charge {more:.0%} instead of {lowest:.0%}."
    yield from _silence_sooner(reader, lived)


def _float_higher(lived: Lived) -> Iterator[str]:
    """For the low float of the tank above the taps: how much earlier it would have switched before the taps ran dry."""
    tank = lived.site.house_tank()
    low = (
        next((item for item in tank.floats if item.means == "low" and item.level_m is not None), None) if tank else None
    )
    if tank is None or tank.shape is None or low is None or low.level_m is None:
        return
    higher_m = low.level_m + HIGHER_M
    if higher_m >= height_m(tank.shape):
        return
    as_it_is, higher = below_l(tank.shape, low.level_m), below_l(tank.shape, higher_m)
    gained = [
        earlier for spell in lived.truth.dry if (earlier := _earlier(lived, spell.began, as_it_is, higher)) is not None
    ]
    if gained:
        mean_h = sum(gained, timedelta(0)) / len(gained) / timedelta(hours=1)
        yield f"The low float of {tank.name} {HIGHER_M * 100:.0f} cm higher: told {mean_h:.0f} h earlier before the taps ran dry."


def _earlier(lived: Lived, dry_at: datetime, as_it_is: float, higher: float) -> timedelta | None:
    """Between the last fall below the higher level and the last below the float, before that time."""
    levels = lived.truth.level_l
    number = min(round((dry_at - lived.start) / STEP), len(levels)) - 1
    crossed: list[int] = []
    for litres in (as_it_is, higher):
        while number >= 0 and levels[number] < litres:
            number -= 1
        crossed.append(number)
    return (crossed[0] - crossed[1]) * STEP if crossed[1] >= 0 else None


def _silence_sooner(reader: Reader, lived: Lived) -> Iterator[str]:
    """How long each box had been dead before its silence was told."""
    for controller, spells in lived.truth.box_dead.items():
        flagged = [event.heard_at for event in reader.events(controller=controller, kinds=("silent",))]
        waits = []
        for spell in spells:
            told = next(
                (at for at in flagged if at >= spell.began and (spell.until is None or at <= spell.until)), None
            )
            if told is not None:
                waits.append(told - spell.began)
        if waits:
            mean_h = sum(waits, timedelta(0)) / len(waits) / timedelta(hours=1)
            yield (
                f"{lived.site.controller_name(controller)} had been dead for {mean_h:.0f} h when its silence was told: "
                "a shorter silence_after, or an asking text, tells sooner."
            )
