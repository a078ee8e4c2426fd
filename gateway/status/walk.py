"""The walk as it stands: what is to be done now, what each float came to, when it must be looked at again, its document."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any, Literal

from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.facts.states.errands_and_tests import TimedMessage, WalkedFloat, WalkLeg, WalkUnderWay
from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.proof import FREED_AFTER, current, motion_of
from gateway.settings.water_tables import Tank
from gateway.site import PlacedFloat, Site

Result = Literal["passed", "failed", "skipped"]
ENDS = ("walk-passed", "walk-failed")
KEPT = timedelta(days=1)
"""So long one that was interrupted can be gone on with."""


def floats_to_walk(reader: Reader, site: Site, tank: Tank | None) -> tuple[WalkedFloat, ...]:
    """Every float, or the tank's, in the order of the file."""
    return tuple(
        WalkedFloat(
            key=placed.key, tank=placed.tank.id, means=placed.float.means, up=_is_up(reader.state(FloatMemory, placed.key), placed)
        )
        for placed in site.floats.values()
        if tank is None or placed.tank.id == tank.id
    )  # fmt: skip


def placed_of(site: Site, key: str) -> PlacedFloat | None:
    """The float of that key; None: configured no more."""
    return next((placed for placed in site.floats.values() if placed.key == key), None)


def step_ends_at(walk: WalkUnderWay) -> datetime:
    """How long the text of this step is waited for; after the last step, what left."""
    return walk.since + timedelta(seconds=walk.wait_s)


def walk_dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    """When the walk must be looked at next."""
    walk = reader.state(WalkUnderWay)
    if walk is None:
        return
    for tried in walk.floats:
        if tried.done_at is not None and not tried.freed:
            yield tried.done_at + FREED_AFTER
    if walk.ended:
        if all(tried.freed or tried.done_at is None for tried in walk.floats):
            yield now
    elif walk.interrupted:
        yield walk.since + KEPT
    elif current(walk) is not None:
        yield step_ends_at(walk)
    else:
        yield now if is_ended(reader, walk, now) else step_ends_at(walk)


def is_ended(reader: Reader, walk: WalkUnderWay, now: datetime) -> bool:
    """Whether every float was tried, and of every message is known what became of it (or it was waited for long enough)."""
    if current(walk) is not None or walk.interrupted or walk.ended:
        return False
    return now >= step_ends_at(walk) or all(_is_known(reader, leg.message) for leg in legs_of(walk))


def legs_of(walk: WalkUnderWay) -> Sequence[WalkLeg]:
    """The texts that came."""
    return [leg for tried in walk.floats for leg in (tried.active, tried.idle) if leg is not None]


def result_of(reader: Reader, site: Site, walk: WalkUnderWay, tried: WalkedFloat) -> tuple[Result, tuple[str, ...]]:
    """Passed, or what is wrong."""
    if tried.done_at is None:
        return "skipped", ()
    faults = tried.faults
    legs = [leg for leg in (tried.active, tried.idle) if leg is not None]
    if any(_is_undelivered(reader, site, leg.message) for leg in legs):
        faults = (*faults, "undelivered")
    return ("failed" if faults else "passed"), faults


def walk_detail(reader: Reader, site: Site, walk: WalkUnderWay) -> dict[str, Any]:
    """How it ended, as it is kept and as the contract's document has it."""
    floats = []
    for tried in walk.floats:
        result, faults = result_of(reader, site, walk, tried)
        controller, _, input = tried.key.partition(":")
        floats.append(
            {
                "tank": tried.tank,
                "controller": controller,
                "input": input,
                "result": result,
                "why": why_said(site, tried, faults, "mobile") if result == "failed" else None,
                "active": _leg_json(reader, tried.active),
                "idle": _leg_json(reader, tried.idle),
            }
        )
    passed = bool(floats) and all(row["result"] == "passed" for row in floats)
    return {"passed": passed, "floats": floats}


def why_said(site: Site, tried: WalkedFloat, faults: Sequence[str], line: Line) -> str:
    """What is wrong, in words."""
    said = []
    for fault in faults:
        kind, _, what = fault.partition(":")
        other = placed_of(site, what)
        named = other.tank.name if other is not None else what
        words = site.phrases.label(f"walk-{kind}", line=line)
        said.append(words.format(what=named, name=site.tank_name(tried.tank)))
    return " ".join(said)


def instruction(site: Site, walk: WalkUnderWay, line: Line) -> str | None:
    """What is to be done now; None: nothing more."""
    tried = current(walk)
    if tried is None:
        return None
    values = {"tank": _float_name(site, tried), "place": str(walk.place + 1), "of": str(len(walk.floats))}
    return site.phrases.message(f"walk-{motion_of(tried, walk.step)}", values, line=line)


def _float_name(site: Site, tried: WalkedFloat) -> str:
    """Its tank's name; where a tank has several floats, also which."""
    name = site.tank_name(tried.tank) or tried.tank
    same = [placed for placed in site.floats_of(tried.tank)]
    if len(same) < 2:
        return name
    placed = placed_of(site, tried.key)
    height = f" {placed.float.level_m:g} m" if placed is not None and placed.float.level_m is not None else ""
    return f"{name} ({site.phrases.label(tried.means)}{height})"


def _is_up(memory: FloatMemory | None, placed: PlacedFloat) -> bool:
    if memory is None or memory.state == "unknown":
        return False
    return (memory.state == "active") == (placed.float.means == "high")


def _is_known(reader: Reader, message_id: int) -> bool:
    message = reader.message(message_id)
    return message is None or message.state in ("delivered", "failed", "joined")


def _is_undelivered(reader: Reader, site: Site, message_id: int) -> bool:
    """Where delivery is not asked for, one that left will do; one that was joined to others is not looked at."""
    message = reader.message(message_id)
    arrived = ("delivered", "joined") if site.settings.modem.delivery_reports else ("delivered", "joined", "sent")
    return message is None or message.state not in arrived


def _leg_json(reader: Reader, leg: WalkLeg | None) -> dict[str, Any] | None:
    if leg is None:
        return None
    timed = reader.state(TimedMessage, str(leg.message))

    def after(at: datetime | None) -> float | None:
        return None if at is None else round(max(0.0, (at - leg.stamp).total_seconds()), 3)

    return {
        "text": leg.text,
        "heard_after_s": after(leg.heard_at),
        "sent_after_s": after(timed.sent_at if timed is not None else None),
        "delivered_after_s": after(timed.delivered_at if timed is not None else None),
        "answered_after_s": after(timed.answered_at if timed is not None else None),
        "rule": leg.rule,
    }
