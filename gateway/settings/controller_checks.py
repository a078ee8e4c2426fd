"""The controllers' tables → what does not hold between them, or with the physics of their battery and panel.

In: the controllers and a `ProblemLocator`. Out: problems, warnings among them.
"""

from collections.abc import Iterator
from datetime import timedelta

from gateway.errors import Problem
from gateway.settings.controller_tables import Battery, Controller, Power
from gateway.settings.key_lines import KeyPath
from gateway.settings.problem_locator import ProblemLocator, nearest_word

CHEMISTRIES = ("lead-acid", "agm", "gel", "lifepo4")
MONTHS = 12
COLDEST_MONTH, WARMEST_MONTH = -60, 60
"""Mean of a month in degrees Celsius; no inhabited place is beyond."""
LOWEST_SHARE, HIGHEST_SHARE = 0.6, 1.5
"""A battery's voltage as a share of its nominal one, from ruined to boiling; beyond it volts were mistaken (12 for 24)."""


def check_controllers(controllers: tuple[Controller, ...], locator: ProblemLocator) -> Iterator[Problem]:
    """Numbers that two of them claim, then each one by itself."""
    id_of_number: dict[str, str] = {}
    for index, controller in enumerate(controllers):
        here = ("controllers", index)
        for number in controller.number:
            if number in id_of_number:
                wrong = f"{number} is the number of {id_of_number[number]!r} too"
                yield locator.problem((*here, "number"), found=number, wrong=wrong, right="one controller a number")
            id_of_number[number] = controller.id
        yield from _check_controller(controller, here, locator)
        if controller.power is not None:
            yield from _check_battery(controller.power.battery, (*here, "power", "battery"), locator)
            yield from _check_months(controller.power, (*here, "power"), locator)


def _check_controller(controller: Controller, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    if controller.ask.every == timedelta(0):
        right = 'such as "1d"; "": not by the clock'
        yield locator.problem((*here, "ask", "every"), found="0s", wrong="asks without end", right=right)
    if not controller.number:
        yield locator.problem((*here, "number"), found="[]", wrong="has no number", right="the SIM's number")
    if not controller.rules:
        wrong = "has no rules: each of its texts is passed on word for word"
        yield locator.note(
            (*here, "id"), found=controller.id, wrong=wrong, right="`tank-gateway suggest` proposes rules"
        )
    if controller.silence_after is None:
        wrong = "if this box dies nobody is told"
        yield locator.note((*here, "silence_after"), found="off", wrong=wrong, right='such as "26h"')


def _check_battery(battery: Battery, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    if battery.chemistry not in CHEMISTRIES:
        yield locator.problem(
            (*here, "chemistry"),
            found=battery.chemistry,
            wrong=f"unknown chemistry {battery.chemistry!r}",
            right=f"one of {', '.join(CHEMISTRIES)}",
            suggestion=nearest_word(battery.chemistry, CHEMISTRIES),
        )
    low, nominal = battery.low_volts, battery.volts
    if low is not None and not LOWEST_SHARE * nominal <= low <= HIGHEST_SHARE * nominal:
        wrong = f"a battery of {nominal:g} V never shows {low:g} V"
        yield locator.problem((*here, "low_volts"), found=low, wrong=wrong, right=f"such as {nominal:g}")


def _check_months(power: Power, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    sun, warmth = power.monthly_kwh_m2_day, power.monthly_celsius
    for key, figures in (("monthly_kwh_m2_day", sun), ("monthly_celsius", warmth)):
        if len(figures) not in (0, MONTHS):
            count = f"{len(figures)} figures"
            yield locator.problem(
                (*here, key), found=count, wrong=f"has {count}", right="twelve, January first, or none"
            )
    if any(not COLDEST_MONTH <= celsius <= WARMEST_MONTH for celsius in warmth):
        yield locator.problem(
            (*here, "monthly_celsius"),
            found=warmth,
            wrong="no month on earth has such a mean",
            right=f"degrees Celsius, between {COLDEST_MONTH} and {WARMEST_MONTH}",
        )
    if any(kwh < 0 for kwh in sun):
        wrong = "sun cannot be negative"
        yield locator.problem((*here, "monthly_kwh_m2_day"), found="a negative figure", wrong=wrong, right="0 or more")
