"""Who draws water, and when → litres a day and the share of each hour.

Livestock: farm planning figures (New Zealand, 2008, W6) and beef cattle by temperature (after NRC 1996, W7), litres a head a day.
Ewes in milk: NRC 2007, at 160 lb. Pigs: swine.extension.org and a Plymouth thesis, the upper figures. Hens: the Poultry CRC table, half as much
again above 32 °C. Goats: extension figures, from memory. All in livestock_water_more.csv.
Hours: a household sleeps at night; two peaks, morning and evening (common practice), mean 1.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Figure
from gateway.settings.models import Settings
from gateway.settings.water_tables import Animals, Demand

US_GALLON_L = 3.785411784
TEMPERATURES_C = (21.1, 26.7, 32.2)
"""70, 80 and 90 °F."""

FLAT_L_DAY: Mapping[str, float] = {
    "dairy cow": 70,
    "lactating cattle": 70,
    "non-lactating cattle": 45,
    "calf": 25,
    "working horse": 55,
    "horse": 35,
    "sheep": 4,
    "lamb": 1,
    "sow": 25,
    "poultry": 0.2,
    "hen": 0.2,
    "lactating ewe": 8.93,
    "goat": 5,
    "milking goat": 15,
    "gestating sow": 11.4,
    "lactating sow": 18.9,
    "weaner pig": 3.8,
    "growing pig": 5,
    "finishing pig": 7.6,
    "broiler": 0.33,
}
BY_WARMTH_GAL_DAY: Mapping[str, tuple[float, float, float]] = {
    "lactating cow": (16.3, 17.9, 21.6),
    "beef cow": (16.3, 17.9, 21.6),
    "dry cow": (10.8, 12.4, 17.6),
    "heifer": (9.0, 10.3, 14.6),
    "steer": (9.3, 10.6, 14.0),
    "bull": (12.7, 14.6, 19.5),
    "laying hen": (0.27 / US_GALLON_L, 1.25 * 0.27 / US_GALLON_L, 1.5 * 0.27 / US_GALLON_L),
}
MILD = "in mild weather, up to 21 C (forecasts go by the month's monthly_celsius where a box's power has it)"
FARM_NOTES = "New Zealand farm notes 2008"
SOURCES: Mapping[str, str] = {
    **dict.fromkeys(BY_WARMTH_GAL_DAY, "cattle by temperature after NRC 1996"),
    **dict.fromkeys(("laying hen", "broiler"), "Poultry CRC table"),
    **dict.fromkeys(("goat", "milking goat"), "goats from extension figures (from memory)"),
    **dict.fromkeys(
        ("gestating sow", "lactating sow", "weaner pig", "growing pig", "finishing pig"),
        "pigs after swine.extension.org and a Plymouth thesis",
    ),
    "lactating ewe": "ewes after NRC 2007",
}
"""Of the kinds that are not in `FARM_NOTES`."""
PATTERN: tuple[float, ...] = (
    0.20, 0.15, 0.15, 0.15, 0.25, 0.60, 1.50, 2.00, 1.70, 1.30, 1.10, 1.10,
    1.20, 1.10, 0.90, 0.90, 1.10, 1.50, 1.90, 1.70, 1.30, 1.00, 0.75, 0.45,
)  # fmt: skip
"""Share of the mean by local hour from 00:00 (common practice: a house asleep at night, peaks at breakfast and supper)."""

_MEAN = sum(PATTERN) / len(PATTERN)
HOURLY: tuple[float, ...] = tuple(share / _MEAN for share in PATTERN)
HOURS_A_DAY = 24
UP_TO_HOUR: tuple[float, ...] = tuple(sum(HOURLY[:hour]) for hour in range(HOURS_A_DAY))
"""Of the day's 24 hours' worth, what is used before each hour begins."""


def head_l_day(animals: Animals, celsius: float | None) -> float:
    """Litres a head a day: the household's own figure, else the published one, warmer by the table where it has one."""
    if animals.litres_per_head_day is not None:
        return animals.litres_per_head_day
    by_warmth = BY_WARMTH_GAL_DAY.get(animals.kind)
    if by_warmth is None:
        return FLAT_L_DAY.get(animals.kind, 0.0)
    return _at(celsius if celsius is not None else TEMPERATURES_C[0], by_warmth) * US_GALLON_L


def demand_in_month(settings: Settings, month: int) -> Demand:
    """What is drawn in that month (1 to 12): animals whose published figure depends on warmth drink by what `monthly_celsius` of a box says of
    it, unless `warm_celsius` says how warm it is."""
    demand, celsius = settings.demand, monthly_celsius(settings)
    if not celsius or demand.warm_celsius is not None or not demand.animals:
        return demand
    return demand.model_copy(update={"warm_celsius": celsius[month - 1]})


def monthly_celsius(settings: Settings) -> tuple[float, ...]:
    """The twelve of the first box whose power has them; none where none has."""
    given = (box.power.monthly_celsius for box in settings.controllers if box.power is not None)
    return next(filter(None, given), ())


def demand_l_day(demand: Demand) -> float:
    """Litres a day in all."""
    drunk_l = sum(animals.head * head_l_day(animals, demand.warm_celsius) for animals in demand.animals)
    return demand.people * demand.litres_per_person_day + drunk_l + demand.other_litres_day


def demand_figure(demand: Demand) -> Figure:
    """The same with its inputs and sources."""
    return Figure(
        value=round(demand_l_day(demand), 3),
        unit="l/day",
        inputs={
            "people": demand.people,
            "litres_per_person_day": demand.litres_per_person_day,
            "animals": [
                {
                    "kind": animals.kind,
                    "head": animals.head,
                    "litres_per_head_day": round(head_l_day(animals, demand.warm_celsius), 2),
                }
                for animals in demand.animals
            ],
            "other_litres_day": demand.other_litres_day,
        },
        source="; ".join(["sum of the configuration's figures", *_published_for(demand)]),
    )


def _published_for(demand: Demand) -> list[str]:
    """Where the figures of animals are from that have none of the household's own."""
    without = [animals.kind for animals in demand.animals if animals.litres_per_head_day is None]
    sources = list(dict.fromkeys(SOURCES.get(kind, FARM_NOTES) for kind in without))
    mild = demand.warm_celsius is None and any(kind in BY_WARMTH_GAL_DAY for kind in without)
    return [*sources, MILD] if mild else sources


def day_shares(start: datetime, end: datetime, zone: tzinfo) -> float:
    """How many days' worth of a day's use fall between two times, by the hourly pattern."""
    if end <= start:
        return 0.0
    whole = (end - start) // timedelta(days=1)
    at = start + timedelta(days=whole)
    first, last = at.astimezone(zone), end.astimezone(zone)
    if first.utcoffset() == last.utcoffset():
        over_midnight = HOURS_A_DAY if last.date() != first.date() else 0.0
        return whole + (over_midnight + _since_midnight(last) - _since_midnight(first)) / HOURS_A_DAY
    return whole + _hour_by_hour(at, end, zone) / HOURS_A_DAY


def _since_midnight(local: datetime) -> float:
    """Hours' worth of use between local midnight and that time."""
    part = (local.minute * 60 + local.second + local.microsecond / 1e6) / 3600
    return UP_TO_HOUR[local.hour] + HOURLY[local.hour] * part


def _hour_by_hour(at: datetime, end: datetime, zone: tzinfo) -> float:
    """The same across a change of the clocks."""
    total = 0.0
    while at < end:
        local = at.astimezone(zone)
        left_s = 3600 - (local.minute * 60 + local.second + local.microsecond / 1e6)
        until = min(end, at + timedelta(seconds=max(left_s, 1e-3)))
        total += HOURLY[local.hour] * (until - at).total_seconds() / 3600
        at = until
    return total


def _at(celsius: float, figures: tuple[float, float, float]) -> float:
    """Linear between the table's temperatures; its ends beyond them."""
    if celsius <= TEMPERATURES_C[0]:
        return figures[0]
    for index in (1, 2):
        if celsius <= TEMPERATURES_C[index]:
            share = (celsius - TEMPERATURES_C[index - 1]) / (TEMPERATURES_C[index] - TEMPERATURES_C[index - 1])
            return figures[index - 1] + share * (figures[index] - figures[index - 1])
    return figures[2]
