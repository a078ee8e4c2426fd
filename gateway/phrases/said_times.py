"""A time and what it is to a sentence → words: `since Tue 14:05` on a screen, `since Tuesday, 2 oh 5 in the afternoon` by a voice.

What a preposition does to an hour, a day or a date stands in the phrase file, each form spelled out. `[when]` and `[spoken_when]` have three
forms for each role: for a time of today, within six days, beyond. `[clock]` has what a voice says: `hours` and `days` by case, `minutes`,
`dates`, what is said otherwise (`exact`), and `parts` of the day where the CLDR has none or none is said. `[by_hour]` has words that go with
the hour: Spanish `la` before one o'clock and else `las`.
"""

from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import Any, Literal

from gateway.phrases import cldr

Line = Literal["mobile", "landline"]
ROLES = ("bare", "at", "since", "from", "until", "about")
"""`bare`: without a preposition."""
DAYS_BY_NAME = 7


def said_time(
    language: str, data: Mapping[str, Any], at: datetime, now: datetime, zone: tzinfo, *, role: str, line: Line
) -> str:
    """The time as it stands in a sentence; `data`: the language's phrase file."""
    local, today = at.astimezone(zone), now.astimezone(zone)
    days = abs((local.date() - today.date()).days)
    form = 0 if days == 0 else 1 if days < DAYS_BY_NAME else 2
    year = "" if local.year == today.year else f" {local.year}"
    parts = _on_a_screen(language, data, local, year) if line == "mobile" else _by_a_voice(language, data, local, year)
    table = data["when" if line == "mobile" else "spoken_when"]
    return str(table[role][form]).format(**parts)


def _on_a_screen(language: str, data: Mapping[str, Any], local: datetime, year: str) -> dict[str, str]:
    return {
        "t": f"{local:%H:%M}",
        "d": cldr.day_names(language, "abbreviated")[local.weekday()].rstrip("."),
        "m": f"{cldr.day_and_month(language, local, 'abbreviated')}{year}",
        **_words_by_hour(data, local.hour),
    }


def _by_a_voice(language: str, data: Mapping[str, Any], local: datetime, year: str) -> dict[str, str]:
    clock = data["clock"]
    days = {f"d_{case}": names[local.weekday()] for case, names in clock.get("days", {}).items()}
    month = cldr.month_names(language, "wide")[local.month]
    return {
        **{case: _clock(language, clock, case, local) for case in clock["hours"]},
        "d": cldr.day_names(language, "wide")[local.weekday()],
        **days,
        "m": f"{clock['dates'][local.day - 1]} {month}{year}",
    }


def _clock(language: str, clock: Mapping[str, Any], case: str, local: datetime) -> str:
    """The hour in its case, the minutes, the part of the day; no colon and no figure with a nought, for voices read both badly."""
    exact = clock.get("exact", {}).get(case, {}).get(f"{local:%H:%M}")
    if exact is not None:
        return str(exact)
    # the library calls noon and midnight themselves parts of the day: "12 o'clock midnight"
    parts = clock.get("parts")
    part = (
        cldr.part_of_day(language, local.replace(minute=local.minute or 1))
        if parts is None
        else "".join(parts[local.hour : local.hour + 1])
    )
    words = (clock["hours"][case][local.hour], clock["minutes"][local.minute], part)
    return " ".join(word for word in words if word)


def _words_by_hour(data: Mapping[str, Any], hour: int) -> dict[str, str]:
    return {name: str(forms.get(str(hour), forms["other"])) for name, forms in data.get("by_hour", {}).items()}
