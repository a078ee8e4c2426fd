"""The store and the house → the page's values; and the page kept fresh in a folder.

Looks at what a page shows: a fortnight, a year of urgent events, the last hundred. Index look-ups, however long the history is.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from gateway.daemon.timelines import FORTNIGHT, SPELL_KINDS, YEAR, days, lanes, year_of_days
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.flow.forecast import TankForecast, forecasts
from gateway.flow.house import House
from gateway.flow.look import ControllerLook, TankLook, look
from gateway.page import BoxView, EventView, PageView, SunView, TankView, render, write
from gateway.ports import Reader
from gateway.power.outlook import DULL_DAYS, PowerOutlook, power_outlook
from gateway.settings.durations import spoken
from gateway.water.learnt import float_litres
from gateway.water.volumes import capacity_l, height_m, level_m

EVENTS_SHOWN = 100
FRESH_EVERY = timedelta(hours=1)


class Pages:
    """Writes `index.html` into the configured folder: on change, and at least hourly."""

    def __init__(self, folder: str) -> None:
        self._file = str(Path(folder) / "index.html")
        self._written: datetime | None = None
        self._newest = -1

    def write_if_due(self, reader: Reader, house: House, now: datetime) -> bool:
        """Writes the page if anything happened since, or an hour went by."""
        newest = reader.last_id("events")
        if self._written is not None and newest == self._newest and now - self._written < FRESH_EVERY:
            return False
        write(self._file, page(reader, house, now))
        self._written, self._newest = now, newest
        return True

    def due(self, now: datetime) -> datetime:
        """When it must be fresh again even if nothing happens."""
        return now + FRESH_EVERY if self._written is None else self._written + FRESH_EVERY


def page(reader: Reader, house: House, now: datetime) -> str:
    """The whole page as HTML."""
    return render(gather(reader, house, now))


def gather(reader: Reader, house: House, now: datetime) -> PageView:
    """Everything the page shows."""
    seen = look(reader, house, now)
    known = forecasts(reader, house, seen)
    spells = reader.events(since=now - FORTNIGHT - timedelta(days=30), kinds=SPELL_KINDS)
    year = reader.events(since=now - YEAR, kinds=("low", "ran-dry", "silent", "power-lost", "high"))
    last = reader.events(limit=EVENTS_SHOWN)
    wrong = [one for one in seen.tanks if one.state not in ("ok", "high")]
    silent = [one for one in seen.controllers if one.state != "heard"]
    return PageView(
        language=house.settings.site.language,
        site=house.settings.site.name,
        made=f"{now.astimezone(house.zone):%Y-%m-%d %H:%M}",
        zone=house.settings.site.timezone,
        well=not wrong and not silent,
        headline=_headline(house, wrong, silent),
        tanks=tuple(_tank(house, one, known[one.tank.id], now) for one in _in_order(house, seen.tanks)),
        boxes=tuple(_box(house, one, now) for one in seen.controllers),
        open_matters=_open(reader, house),
        days=days(house, now),
        lanes=lanes(house, spells, now),
        year=year_of_days(house, year, now),
        figures=_figures(reader, house, year, now),
        sun=tuple(
            _sun(house, one.name, power_outlook(one.id, one.power, house.settings.site.latitude))
            for one in house.settings.controllers
            if one.power is not None
        ),
        events=tuple(_event(house, one) for one in reversed(last)),
    )


def _headline(house: House, wrong: Sequence[TankLook], silent: Sequence[ControllerLook]) -> str:
    low = [one.tank.name for one in wrong if one.state == "low"]
    if low:
        return f"{', '.join(low)} {house.phrases.label('low')}"
    if silent:
        return f"{', '.join(one.controller.name for one in silent)}: {house.phrases.label(silent[0].state)}"
    if wrong:
        return f"{', '.join(one.tank.name for one in wrong)}: {house.phrases.label('unknown')}"
    return "All is well"


def _in_order(house: House, tanks: Sequence[TankLook]) -> list[TankLook]:
    """From the source down to the house."""
    depth: dict[str, int] = {}

    def of(tank: str) -> int:
        if tank not in depth:
            depth[tank] = 0
            depth[tank] = 1 + max((of(one) for one in house.tanks[tank].fed_by if one in house.tanks), default=0)
        return depth[tank]

    return sorted(tanks, key=lambda one: of(one.tank.id))


def _tank(house: House, seen: TankLook, known: TankForecast, now: datetime) -> TankView:
    shape = seen.tank.shape
    floats: list[tuple[str, float]] = []
    water = None
    if shape is not None:
        top = height_m(shape)
        floats = [(one.means, one.level_m / top) for one in seen.tank.floats if one.level_m is not None]
        if known.litres is not None:
            three = (known.litres.low, known.litres.likely, known.litres.high)
            low, likely, high = (min(1.0, max(0.0, level_m(shape, litres) / top)) for litres in three)
            water = (low, likely, high)
    fed = [house.tanks[one].name for one in seen.tank.fed_by if one in house.tanks]
    return TankView(
        name=seen.tank.name,
        state=seen.state,
        state_said=house.phrases.label(seen.state)
        + (f" ({house.phrases.label('paused')})" if seen.paused_until else ""),
        since=f"since {_time(house, seen.since, now)}" if seen.since else "",
        outline=shape.kind if shape is not None else "litres",
        floats=tuple(floats),
        water=water,
        litres=_litres(seen, known),
        forecast=_forecast(house, known, now),
        cause=known.cause.because if known.cause else "",
        feeds=f"Fed by {', '.join(fed)}." if fed else "Fed by the source.",
    )


def _litres(seen: TankLook, known: TankForecast) -> str:
    if known.litres is None or seen.tank.shape is None:
        return ""
    low, likely, high = known.litres.low, known.litres.likely, known.litres.high
    return f"About {likely:.0f} l ({low:.0f} to {high:.0f}) of {capacity_l(seen.tank.shape):.0f} l."


def _forecast(house: House, known: TankForecast, now: datetime) -> str:
    times, word = (known.dry_at, "Dry") if known.dry_at else (known.full_at, "Full")
    if times is None:
        return ""
    early, likely, late = (_time(house, at, now) for at in times)
    if times[1] < now:
        return f"Probably {word.lower()} since about {likely}."
    return f"{word} about {likely} (between {early} and {late}, four times in five)."


def _box(house: House, seen: ControllerLook, now: datetime) -> BoxView:
    return BoxView(
        name=seen.controller.name,
        state=seen.state,
        state_said=house.phrases.label(seen.state),
        heard=f"last {_time(house, seen.last_heard, now)}" if seen.last_heard else "",
        limit=spoken(seen.limit) if seen.limit else "ever",
        volts=f"{seen.volts:g} V" if seen.volts is not None else "",
        signal=f"Signal {seen.signal:g}" if seen.signal is not None else "",
    )


def _open(reader: Reader, house: House) -> tuple[str, ...]:
    said = []
    for row in reader.call_outs():
        names = [house.tank_name(one[0].partition(":")[2]) or one[0] for one in row.data["matters"]]
        taken = row.data.get("taken_by")
        who = f"{house.contact_name(taken)} sees to it" if taken else "nobody took it yet"
        said.append(f"Open: {', '.join(names)}; {who}.")
    return tuple(said)


def _figures(reader: Reader, house: House, year: Sequence[Event], now: datetime) -> tuple[tuple[str, str], ...]:
    rows: list[tuple[str, str]] = []
    for tank in house.settings.tanks:
        lows = [event for event in year if event.kind == "low" and event.tank == tank.id]
        overs = reader.events(since=now - YEAR, tank=tank.id, kinds=("low-over",))
        lasted = sorted(event.detail["lasted_s"] for event in overs if "lasted_s" in event.detail)
        said = f"{len(lows)} low spells in a year"
        if lasted:
            said += f"; half of them were over within {house.phrases.span(timedelta(seconds=lasted[len(lasted) // 2]))}"
        low = float_litres(tank, "low")
        said += f"; {low:.0f} l below its low float" if low is not None else ""
        rows.append((tank.name, said))
    price = house.settings.limits.price_per_segment
    sent = reader.sent_since(now - timedelta(days=30))
    rows.append(
        (
            "Segments sent in 30 days",
            f"{sent}" + (f", {sent * price:.2f} {house.settings.limits.currency}" if price else ""),
        )
    )
    return tuple(rows)


def _sun(house: House, name: str, outlook: PowerOutlook) -> tuple[str, str, tuple[SunView, ...]]:
    most = max(max(one.charge.value, one.use.value) for one in outlook.months) or 1.0
    months = tuple(
        SunView(
            month=house.phrases.month_name(one.month)[:3],
            charge=one.charge.value / most,
            use=one.use.value / most,
            charge_said=f"{one.charge.value:.2f} Ah/day",
            use_said=f"{one.use.value:.2f} Ah/day",
            days=f"{one.days_without_sun.value:.1f}",
            short=one.charge.value < one.use.value,
        )
        for one in outlook.months
    )
    worst = outlook.worst
    said = f"In {house.phrases.month_name(worst.month)}, its worst month, it holds {worst.days_without_sun.value:.0f} days without sun"
    said += "." if worst.days_without_sun.value >= DULL_DAYS else "; over two dull weeks it will fail."
    return name, said, months


def _event(house: House, event: Event) -> EventView:
    where = house.tank_name(event.tank) or house.controller_name(event.controller) or house.settings.site.name
    lasted = event.detail.get("lasted_s")
    what = event.kind.replace("-", " ")
    what += (
        f" after {house.phrases.span(timedelta(seconds=lasted))}"
        if isinstance(lasted, int | float) and lasted > 0
        else ""
    )
    return EventView(
        at=f"{event.at.astimezone(house.zone):%Y-%m-%d %H:%M}",
        what=what,
        where=where,
        raw=harmless(event.text) if event.text else "",
        note=event.kind == "note",
    )


def _time(house: House, at: datetime | None, now: datetime) -> str:
    return house.phrases.time(at, now, house.zone) if at else ""
