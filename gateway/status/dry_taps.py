"""The taps ran dry → which step of letting the air out is next, in words; from the first report until somebody says that the water is safe.

The order is common practice: no air is drawn in by closing the house valve, water comes back slowly so that no pipe hammers, and air leaves
at the lowest tap first. Whether the water may be drunk is for the local authority to say, and stands in the last step.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.alarms import Alarm
from gateway.facts.states.controllers_and_tanks import ReckonedEnd
from gateway.facts.states.people import TapsDry
from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.site import Site
from gateway.status.float_ends import LONGEST_REFILL
from gateway.status.forecast import longest_refill_of
from gateway.status.snapshot import take_snapshot
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min
from gateway.water.pipe_flow import fills_in

LEAST_DRY = timedelta(days=2)
"""So long dry taps stand at least before their end is reckoned: filling, letting the air out and making sure of the water take days
(common practice)."""
TAPS = "taps"
"""Whose reckoned end it is, beside those of floats, which are `<controller>:<input>`."""

StepKey = Literal["close-valve", "fill-slowly", "tap", "taps", "until-safe"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BleedStep:
    """What is done then; `tap`: where, if the household named its taps."""

    key: StepKey
    tap: str | None = None


def bleed_steps(site: Site) -> tuple[BleedStep, ...]:
    """Every step, in order: the valve, the filling, each tap from the lowest up, and what ends it."""
    taps = tuple(BleedStep(key="tap", tap=tap) for tap in site.settings.bleed.taps) or (BleedStep(key="taps"),)
    return (BleedStep(key="close-valve"), BleedStep(key="fill-slowly"), *taps, BleedStep(key="until-safe"))


def tank_of_taps(reader: Reader, site: Site, now: datetime) -> Tank | None:
    """The tank whose taps are dry, or may be: of several that feed no other the one that is low, and the last of the file where that does
    not tell them apart. Once somebody said so it stays that one."""
    alarm, tanks = dry_alarm(reader.alarms()), site.house_tanks()
    if alarm is not None and alarm.tank is not None and alarm.tank in site.tanks:
        return site.tanks[alarm.tank]
    if len(tanks) < 2:
        return site.house_tank()
    snapshot = take_snapshot(reader, site, now, numbers=False)
    low = [tank for tank in tanks if snapshot.tank(tank).state == "low"]
    return site.tanks[low[0]] if len(low) == 1 else site.house_tank()


def taps_dry(reader: Reader) -> TapsDry | None:
    """Since when the taps are dry by somebody's word, and how far the air is out; None: nobody said so, or it is over.

    An older program kept the alarm alone, and no steps: then nothing has been done of them.
    """
    return reader.state(TapsDry) or _of_an_older_program(reader)


def _of_an_older_program(reader: Reader) -> TapsDry | None:
    alarm = dry_alarm(reader.alarms())
    if alarm is None or alarm.is_reckoned:
        return None
    event = reader.event(alarm.event) if alarm.event is not None else None
    return TapsDry(since=alarm.since, by=event.detail.get("who", "") if event is not None else "")


def dry_alarm(alarms: Iterable[Alarm]) -> Alarm | None:
    """The alarm of dry taps, also one that an older program opened, which knew no steps; None: none stands."""
    return next((alarm for alarm in alarms if alarm.kind == "ran-dry"), None)


def dry_taps_to_reckon(reader: Reader, alarms: Iterable[Alarm]) -> tuple[Alarm, ReckonedEnd | None] | None:
    """Dry taps of which nobody says that they are safe, and what was reckoned of their end; None: nothing is to be reckoned."""
    alarm = dry_alarm(alarms)
    if alarm is None or not alarm.stands_by_itself:
        return None
    end = reader.state(ReckonedEnd, TAPS)
    return alarm, end if end is not None and end.since == alarm.since else None


def dry_taps_dues(reader: Reader, alarms: Iterable[Alarm], now: datetime) -> Iterator[datetime]:
    """When the end of dry taps is reckoned to be there; now, where it was not reckoned yet."""
    dry = dry_taps_to_reckon(reader, alarms)
    if dry is not None:
        yield now if dry[1] is None else dry[1].due


def reckon_dry_end(reader: Reader, site: Site, alarm: Alarm, now: datetime) -> ReckonedEnd:
    """When there should be water again: by the time that the tank takes to fill, and no sooner than while it is known to be low."""
    tank = site.tanks.get(alarm.tank or "")
    refill = longest_refill_of(reader, site, tank, now) if tank is not None else None
    due = alarm.since + max(LEAST_DRY, min(refill or LEAST_DRY, LONGEST_REFILL))
    low = any(other.kind == "low" and other.tank == alarm.tank and not other.is_reckoned for other in reader.alarms())
    return ReckonedEnd(since=alarm.since, due=max(due, now + LEAST_DRY) if low else due)


def step_reached(site: Site, dry: TapsDry) -> int:
    """The step that is to be done now, from 0; the taps of the configuration may have become fewer."""
    return min(dry.step, len(bleed_steps(site)) - 1)


def has_further_step(reader: Reader, site: Site) -> bool:
    """Whether the taps are dry, and NEXT leads to another step."""
    dry = taps_dry(reader)
    return dry is not None and step_reached(site, dry) < len(bleed_steps(site)) - 1


def dry_answer(site: Site, contact: Contact, *, take: str | None = None) -> str:
    """What a contact is answered who texts that the taps are dry; `take`: how they take it, where they are called for it too."""
    values = {"step": step_said(site, 0, contact.line), "take": take}
    return site.phrases.reply("dry", values, segments=site.segments, line=contact.line)


def step_said(site: Site, number: int, line: Line = "mobile") -> str:
    """`2 of 5: Open the laundry tap …`"""
    steps = bleed_steps(site)
    what = site.phrases.sentence("bleed", steps[number].key) or ""
    what = what.format(tap=steps[number].tap)
    takes, said = _pipes_fill_in(site), site.phrases.sentence("mobile", "pipes-fill-in")
    if steps[number].key == "fill-slowly" and takes is not None and said is not None:
        what = f"{what} {said.format(span=site.phrases.format_span(takes, line=line))}"
    values = {"number": number + 1, "count": len(steps), "what": what}
    return site.phrases.label("step", line=line).format(**values)


def _pipes_fill_in(site: Site) -> timedelta | None:
    """How long the pipes on the way to the taps take to fill at the least; None where no pipe is configured."""
    house = site.house_tank()
    way = {house.id, *site.upstream.get(house.id, ())} if house is not None else set()
    pump = site.settings.source.pump
    comes = delivered_l_min(pump) * MINUTES_A_DAY if pump is not None else None
    takes = [fills_in(pipe, comes) for pipe in site.settings.pipes if pipe.lower in way]
    return sum(takes, timedelta(0)) if takes else None
