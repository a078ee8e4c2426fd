"""The house now, or its last seven days → one line for a phone."""

from collections import Counter
from datetime import datetime, timedelta

from gateway.flow.house import Moment
from gateway.flow.look import ControllerLook, TankLook, look

WEEK = timedelta(days=7)
YEAR = timedelta(days=365.25)


def tanks_line(moment: Moment) -> str:
    """Every tank and controller: what is not well stands first."""
    seen = look(moment.tx, moment.house, moment.now)
    order = {"low": 0, "high": 1, "unknown": 2, "ok": 3}
    tanks = sorted(seen.tanks, key=lambda one: order[one.state])
    boxes = sorted(seen.controllers, key=lambda one: one.state == "heard")
    return " ".join([*(_tank(moment, one) for one in tanks), *(_controller(moment, one) for one in boxes)])


def week_line(moment: Moment) -> str:
    """The last seven days in one message."""
    return moment.house.phrases.answer("week", {"list": week_list(moment)}, segments=_segments(moment))


def week_list(moment: Moment) -> str:
    """What happened, most important first, and what it cost."""
    house, phrases = moment.house, moment.house.phrases
    since = moment.now - WEEK
    events = moment.tx.events(since=since, kinds=("low", "silent", "ran-dry", "power-lost"))
    lows = Counter(event.tank for event in events if event.kind == "low" and event.tank)
    silences = Counter(event.controller for event in events if event.kind == "silent" and event.controller)
    pieces = [phrases.week_line("low", {"tank": house.tank_name(tank), "count": n}) for tank, n in lows.items()]
    pieces += [
        phrases.week_line("silent", {"controller": house.controller_name(one), "count": n})
        for one, n in silences.items()
    ]
    if not pieces:
        pieces.append(phrases.week_line("quiet", {}))
    if house.settings.limits.price_per_segment > 0:
        pieces.append(phrases.week_line("cost", costs(moment)))
    return "; ".join(pieces) + "."


def well_now(moment: Moment) -> bool:
    """Whether no tank is low and no controller silent or unknown."""
    seen = look(moment.tx, moment.house, moment.now)
    return all(one.state in ("ok", "high") for one in seen.tanks) and all(
        one.state == "heard" for one in seen.controllers
    )


def costs(moment: Moment) -> dict[str, str]:
    """What texts cost this month so far, and what a year at the rate of the last thirty days would."""
    limits = moment.house.settings.limits
    local = moment.now.astimezone(moment.house.zone)
    month = datetime(local.year, local.month, 1, tzinfo=moment.house.zone)
    so_far = moment.tx.sent_since(month) * limits.price_per_segment
    thirty = moment.tx.sent_since(moment.now - timedelta(days=30)) * limits.price_per_segment
    return {
        "cost": f"{so_far:.2f} {limits.currency}",
        "year": f"{thirty * (YEAR / timedelta(days=30)):.2f} {limits.currency}",
    }


def _tank(moment: Moment, seen: TankLook) -> str:
    phrases = moment.house.phrases
    since = f" {phrases.time(seen.since, moment.now, moment.house.zone)}" if seen.since and seen.state != "ok" else ""
    paused = f" ({phrases.label('paused')})" if seen.paused_until else ""
    return f"{seen.tank.name} {phrases.label(seen.state)}{since}{paused}."


def _controller(moment: Moment, seen: ControllerLook) -> str:
    phrases = moment.house.phrases
    heard = f" {phrases.time(seen.last_heard, moment.now, moment.house.zone)}" if seen.last_heard else ""
    volts = f" {seen.volts:g} V" if seen.volts is not None else ""
    return f"{seen.controller.name} {phrases.label(seen.state)}{heard}{volts}."


def _segments(moment: Moment) -> int:
    return moment.house.settings.limits.segments
