"""`tanks`: every tank and controller now (or as it was known at a time): state, since when, forecast, likely cause."""

import argparse
import math
from datetime import datetime
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, moment_said, store_of
from gateway.commands.showing import iso, local, print_json, print_table, print_text
from gateway.facts import Triple
from gateway.flow.battery import BatteryNow, battery_now, battery_said
from gateway.flow.forecast import TankForecast, forecasts
from gateway.flow.house import House
from gateway.flow.look import ControllerLook, Look, TankLook, look
from gateway.settings.durations import spoken


def run(arguments: argparse.Namespace) -> int:
    """Prints the state."""
    house = house_of(arguments)
    at = moment_said(arguments.at, house) if arguments.at else SystemClock().now()
    with store_of(house.settings).read() as reader:
        seen = look(reader, house, at)
        known = forecasts(reader, house, seen)
        shown = () if arguments.json else house.settings.controllers
        batteries = {one.id: battery_now(reader, house, one, at) for one in shown}
    if arguments.json:
        print_json(as_json(house, seen, known))
    else:
        _print(house, seen, known)
        _print_batteries(house, seen, batteries)
    return 0


def as_json(house: House, seen: Look, known: dict[str, TankForecast]) -> dict[str, Any]:
    """As the contract has it."""
    return {
        "at": iso(seen.at, house.zone),
        "tanks": [_tank_json(house, one, known[one.tank.id]) for one in seen.tanks],
        "controllers": [
            {
                "id": one.controller.id,
                "name": one.controller.name,
                "state": one.state,
                "last_heard": iso(one.last_heard, house.zone),
                "volts": one.volts,
                "percent": one.percent,
                "signal": one.signal,
                "silence_after": spoken(one.limit) if one.limit else None,
            }
            for one in seen.controllers
        ],
    }


def _tank_json(house: House, one: TankLook, forecast: TankForecast) -> dict[str, Any]:
    cause = forecast.cause
    return {
        "id": one.tank.id,
        "name": one.tank.name,
        "state": one.state,
        "since": iso(one.since, house.zone),
        "litres": _triple(forecast.litres),
        "dry_at": _times(house, forecast.dry_at),
        "full_at": _times(house, forecast.full_at),
        "cause": {"is": cause.kind, "because": cause.because} if cause else None,
        "paused_until": iso(one.paused_until, house.zone),
    }


def _triple(triple: Triple | None) -> list[float] | None:
    return None if triple is None else [round(triple.low), round(triple.likely), round(triple.high)]


def _times(house: House, times: tuple[datetime, datetime, datetime] | None) -> list[str | None] | None:
    return None if times is None else [iso(at, house.zone) for at in times]


def _print(house: House, seen: Look, known: dict[str, TankForecast]) -> None:
    print(f"As known at {local(seen.at, house.zone)} ({house.settings.site.timezone}).\n")
    rows = [_tank_row(house, one, known[one.tank.id]) for one in seen.tanks]
    print_table(("tank", "state", "since", "litres left", "dry or full about"), rows, widths=(18, 8, 16, 12, 18))
    for one in seen.tanks:
        cause = known[one.tank.id].cause
        if cause is not None:
            print(f"\n{one.tank.name}: {cause.kind}. {cause.because}")
    print()
    print_table(
        ("controller", "state", "last heard", "may be silent", "volts", "signal"),
        [_controller_row(house, one) for one in seen.controllers],
        widths=(20, 12, 16, 13, 5, 6),
    )


def _print_batteries(house: House, seen: Look, batteries: dict[str, BatteryNow | None]) -> None:
    """How each battery goes, where its volts are read."""
    for one in seen.controllers:
        found = batteries[one.controller.id]
        if found is not None:
            print_text(f"{one.controller.name}: {battery_said(house, found, seen.at)}", before="\n")


def _tank_row(house: House, one: TankLook, forecast: TankForecast) -> tuple[object, ...]:
    litres = forecast.litres
    when = forecast.dry_at or forecast.full_at
    word = "dry" if forecast.dry_at else "full"
    return (
        one.tank.name,
        one.state + (" (paused)" if one.paused_until else ""),
        local(one.since, house.zone),
        f"{litres.likely:.0f} ({litres.low:.0f}-{litres.high:.0f})" if litres else None,
        f"{word} {local(when[1], house.zone)}" if when else None,
    )


def _controller_row(house: House, one: ControllerLook) -> tuple[object, ...]:
    return (
        one.controller.name,
        one.state,
        local(one.last_heard, house.zone),
        _limit(one),
        one.volts,
        one.signal,
    )


def _limit(one: ControllerLook) -> str:
    """`26h`, `25h learnt`, `for ever`."""
    if one.limit is None:
        return "for ever"
    if one.controller.silence_after == "auto":
        return f"{math.ceil(one.limit.total_seconds() / 3600)}h learnt"
    return spoken(one.limit)
