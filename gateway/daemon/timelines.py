"""Events → the fortnight's lanes and the year's days, as the page draws them."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from gateway.callout.kinds import ENDS, OPENS
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.flow.house import House
from gateway.page import LaneView, SpellView

FORTNIGHT = timedelta(days=14)
YEAR = timedelta(days=366)
SPELL_KINDS = (*OPENS, *ENDS, "note", "gateway-stopped", "gateway-started")


def days(house: House, now: datetime) -> tuple[tuple[str, float], ...]:
    """Marks of the fortnight's days, every second one."""
    start = now - FORTNIGHT
    marks = []
    for number in range(0, 15, 2):
        day = (start + timedelta(days=number)).astimezone(house.zone).replace(hour=0, minute=0, second=0, microsecond=0)
        share = (day - start) / FORTNIGHT
        if 0 <= share <= 0.97:
            marks.append((f"{day.day}.{day.month}.", share))
    return tuple(marks)


def lanes(house: House, events: Sequence[Event], now: datetime) -> tuple[LaneView, ...]:
    """A lane for each tank, each controller and the gateway, with its spells."""
    start = now - FORTNIGHT
    names = {f"t:{one.id}": one.name for one in house.settings.tanks}
    names.update({f"c:{one.id}": one.name for one in house.settings.controllers})
    names["gateway"] = "Gateway and notes"
    spells: dict[str, list[SpellView]] = {key: [] for key in names}
    begun: dict[tuple[str, str], Event] = {}
    for event in events:
        key = f"t:{event.tank}" if event.tank else f"c:{event.controller}" if event.controller else "gateway"
        if key not in spells:
            continue
        if event.kind in OPENS and event.kind != "ran-dry":
            begun.setdefault((key, OPENS[event.kind]), event)
        elif event.kind in ENDS:
            began = begun.pop((key, ENDS[event.kind]), None)
            if began is not None:
                _add(house, spells[key], began, event.at, start, now)
        elif event.kind == "gateway-stopped":
            begun[("gateway", "off")] = event
        elif event.kind == "gateway-started" and ("gateway", "off") in begun:
            _add(house, spells["gateway"], begun.pop(("gateway", "off")), event.at, start, now)
        elif event.kind in ("note", "ran-dry"):
            _add(house, spells[key], event, event.at, start, now)
    for (key, _), began in begun.items():
        if began.kind != "gateway-stopped":
            _add(house, spells[key], began, now, start, now)
    return tuple(LaneView(name=name, spells=tuple(spells[key])) for key, name in names.items())


SPELL_OF = {
    "low": "low",
    "high": "high",
    "silent": "silent",
    "ran-dry": "dry",
    "note": "note",
    "gateway-stopped": "off",
}


def _add(house: House, lane: list[SpellView], began: Event, ended: datetime, start: datetime, now: datetime) -> None:
    if ended < start:
        return
    since = max(began.at, start)
    said = f"{began.kind}: {_time(house, began.at, now)}"
    said += f" to {_time(house, ended, now)}" if ended > began.at else ""
    if began.kind == "note" and began.text:
        said = f"note {_time(house, began.at, now)}: {harmless(began.text)}"
    lane.append(
        SpellView(
            kind=SPELL_OF.get(began.kind, "power"),
            start=(since - start) / FORTNIGHT,
            end=min(1.0, (ended - start) / FORTNIGHT),
            said=said,
        )
    )


def year_of_days(house: House, events: Sequence[Event], now: datetime) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Twelve months of days: 0 nothing, 1 something was told of, 2 a tank was low."""
    marks: dict[tuple[int, int], dict[int, int]] = {}
    for event in events:
        local = event.at.astimezone(house.zone)
        days = marks.setdefault((local.year, local.month), {})
        days[local.day] = max(days.get(local.day, 0), 2 if event.kind in ("low", "ran-dry") else 1)
    today = now.astimezone(house.zone)
    months = []
    for back in range(11, -1, -1):
        index = today.year * 12 + today.month - 1 - back
        year, month = divmod(index, 12)
        following = datetime(*divmod(index + 1, 12)[:1], (index + 1) % 12 + 1, 1, tzinfo=house.zone)
        length = (following - timedelta(days=1)).day
        found = marks.get((year, month + 1), {})
        months.append((f"{month + 1}/{year % 100:02d}", tuple(found.get(day, 0) for day in range(1, length + 1))))
    return tuple(months)


def _time(house: House, at: datetime, now: datetime) -> str:
    return house.phrases.time(at, now, house.zone)
