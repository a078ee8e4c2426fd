"""An outlook → what it comes to, in a sentence or two that err on the careful side.

`month_name` gives a month's name in the household's language; days are rounded down. Which cautions belong to it are keys: their
words stand in the phrase files, and defer to local codes and licensed practice.
"""

import math
from collections.abc import Callable
from typing import Literal

from gateway.power.battery_needed import CRITICAL_DAYS, USUAL_DAYS, WORN_SHARE, Needed, years_of_ten
from gateway.power.monthly_outlook import DULL_DAYS, PowerOutlook
from gateway.settings.controller_tables import Power

Caution = Literal["acid", "gas", "frost", "frozen-charge", "height", "lightning"]
LEAD: tuple[Caution, ...] = ("acid", "gas", "frost")
LITHIUM: tuple[Caution, ...] = ("frozen-charge",)
PANEL: tuple[Caution, ...] = ("height", "lightning")


def verdict(outlook: PowerOutlook, month_name: Callable[[int], str]) -> str:
    """What the twelve months come to."""
    worst = outlook.worst
    days = worst.days_without_sun.value
    if outlook.sun_unknown:
        return f"Its sun is unknown: {outlook.sun_unknown}. Without any, a full battery holds {_days(days)}."
    if not outlook.panel:
        alike = len({month.days_without_sun.value for month in outlook.months}) == 1
        when = "" if alike else f" in {month_name(worst.month)}"
        return f"It has no panel: a full battery holds {_days(days)}{when}."
    sentence = f"In {month_name(worst.month)} it holds {_days(days)} without sun"
    sentence += "; over two dull weeks it will fail." if days < DULL_DAYS else ", two dull weeks among them."
    short = outlook.short_months()
    if not short:
        return sentence
    gone = worst.days_without_sun.inputs["usable_ah"] / (worst.use.value - worst.charge.value)
    when = "All year" if len(short) == len(outlook.months) else _when(short, month_name)
    spent = f"in {month_name(worst.month)} a full battery is spent in {_days(gone)} of usual weather"
    return f"{sentence} {when} it uses more than the sun gives: {spent}."


def needed_words(power: Power, wanted: Needed, days_held: float, month_name: Callable[[int], str]) -> str:
    """What would last two dull weeks, rounded up; how many days the standards plan for; what age takes."""
    words = f"For {DULL_DAYS:g} dull days: a battery of {math.ceil(wanted.battery.value)} Ah"
    if wanted.panel is None:
        words += "; which panel is unknown, for its sun is, or there is none"
    else:
        hardest = month_name(int(wanted.panel.inputs["month"]))
        words += f" and a panel of {math.ceil(wanted.panel.value)} W as yours stands ({hardest} is its hardest month)"
    yours = f"{power.battery.capacity_ah:g} Ah" + (f", {power.panel.watts:g} W" if power.panel else "")
    critical, usual = (f"{fewest} to {most}" for fewest, most in (CRITICAL_DAYS, USUAL_DAYS))
    return (
        f"{words}; yours: {yours}. IEEE 1562 and 1013 plan {critical} days without sun for what is critical, {usual} for what is not"
        f" (from memory; the standards were not at hand). Worn, at {WORN_SHARE * 100:.0f} % of its capacity, when it should be replaced"
        f" (IEEE 450 and 1188, from memory), it holds {_days(days_held * WORN_SHARE)}. {_age_words(power)}"
    )


def _age_words(power: Power) -> str:
    if power.battery.chemistry == "lifepo4":
        return "How a lithium battery ages in the warmth is not known here."
    years = years_of_ten(power)
    rule = "A sealed lead battery's life halves for each 8 C over 25 C (Battery University BU-806a)"
    if years is None:
        return f"{rule}; how warm yours is, is unknown without monthly_celsius."
    return f"{rule}: ten years are about {math.floor(years)} in your monthly_celsius, fewer in a box in the sun."


def cautions(power: Power) -> tuple[Caution, ...]:
    """The keys of what to beware of with this battery and panel."""
    return (LITHIUM if power.battery.chemistry == "lifepo4" else LEAD) + (PANEL if power.panel else ())


def _days(days: float) -> str:
    whole = math.floor(days)
    return "less than a day" if whole < 1 else "1 day" if whole == 1 else f"{whole} days"


def _when(months: tuple[int, ...], month_name: Callable[[int], str]) -> str:
    """`In May`, `In May and July`, `From November to February`."""
    order = _in_order(months)
    names = [month_name(month) for month in order]
    if len(order) > 2 and (order[-1] - order[0]) % 12 == len(order) - 1:
        return f"From {names[0]} to {names[-1]}"
    return f"In {', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else f"In {names[0]}"


def _in_order(months: tuple[int, ...]) -> tuple[int, ...]:
    """Over the turn of the year: November, December, January."""
    if 1 not in months or 12 not in months:
        return months
    turn = next((at for at in range(len(months) - 1, 0, -1) if months[at] - months[at - 1] > 1), 0)
    return months[turn:] + months[:turn]
