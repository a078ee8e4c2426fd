"""The house now, or its last seven days → one line for a phone, on a screen or by a voice."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from gateway.alarms.matters import which_of_many
from gateway.facts import kinds_where
from gateway.facts.alarms import Alarm
from gateway.facts.states.errands_and_tests import BoxClock
from gateway.phrases import Phrasebook
from gateway.phrases.phrasebook import Line, Money
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_rounds import alarm_name
from gateway.status.dry_taps import taps_dry
from gateway.status.forecast import TankForecast, as_told, forecasts
from gateway.status.snapshot import ControllerSnapshot, TankSnapshot, take_snapshot
from gateway.status.what_stands import LEAST_AGE, age_and_taker, standing
from gateway.status.who_is_there import who_is_there

Told = tuple[str, Mapping[str, object]]
"""A key of `[week]` and what stands in it."""

COUNTED = kinds_where(lambda kind: kind.weekly)
"""What of a week is told, the weightiest first."""
WEEK = timedelta(days=7)
CLOCK_OFF_TOLD = timedelta(minutes=3)
"""Less is the network's, which stamps whole minutes and takes some seconds (common practice)."""
YEAR = timedelta(days=365.25)


def tanks_line(reader: Reader, site: Site, now: datetime, line: Line) -> str:
    """Every tank and controller; what stands is said first, with its age and who has it."""
    snapshot, alarms = take_snapshot(reader, site, now), standing(reader)
    is_unheard = any(box.state == "silent" for box in snapshot.controllers)
    outlooks = as_told(reader, forecasts(reader, site, snapshot)) if is_unheard else {}
    of_tank = {tank.tank.id: [alarm for alarm in alarms if _is_of_tank(alarm, tank)] for tank in snapshot.tanks}
    of_box = {
        box.controller.id: [alarm for alarm in alarms if alarm.controller == box.controller.id and alarm.tank is None]
        for box in snapshot.controllers
    }
    order = {"low": 0, "high": 1, "unknown": 2, "ok": 3}
    tanks = sorted(snapshot.tanks, key=lambda tank: order[tank.state])
    boxes = sorted(snapshot.controllers, key=lambda box: box.state == "heard")
    words = [
        *(
            (bool(of_tank[tank.tank.id]), _tank_words(site, now, tank, of_tank[tank.tank.id], line, outlooks))
            for tank in tanks
        ),
        *(
            (bool(of_box[box.controller.id]), _box_words(site, now, box, of_box[box.controller.id], line))
            for box in boxes
        ),
    ]
    return " ".join(
        [
            *_dry_words(reader, site, now, line),
            *(said for _, said in sorted(words, key=lambda item: not item[0])),
            *(f"{words}." for words in who_is_there(reader, site, now, line)),
        ]
    )


def week_line(reader: Reader, site: Site, now: datetime, line: Line) -> str:
    """The last seven days in one message."""
    values = {"list": week_list(reader, site, now, line)}
    return site.phrases.reply("week", values, segments=site.segments, line=line)


def week_list(reader: Reader, site: Site, now: datetime, line: Line) -> str:
    """What happened, most important first, and what it cost."""
    since = now - WEEK
    events = reader.events(since=since, kinds=COUNTED)
    lasting = [alarm for alarm in standing(reader) if alarm.subject != "gateway" and now - alarm.since >= LEAST_AGE]
    told = [_stands(site, alarm, now, line) for alarm in lasting]
    for kind in COUNTED:
        often = Counter(event.tank or event.controller for event in events if event.kind == kind)
        told += [
            (kind, {"tank": site.tank_name(whose), "controller": site.controller_name(whose), "count": n})
            for whose, n in often.items()
            if whose
        ]
    if not told:
        told.append(("quiet", {}))
    told += _clocks_off(reader, site, since)
    if site.settings.limits.price_per_segment > 0:
        told.append(("cost", costs(reader, site, now)))
    return week_said(site.phrases, told, line)


def _clocks_off(reader: Reader, site: Site, since: datetime) -> list[Told]:
    """Boxes whose own clock is far from the network's stamps, by their newest text of the week with a time in it."""
    told: list[Told] = []
    for controller_id, clock in reader.states(BoxClock).items():
        ahead = timedelta(seconds=clock.ahead_s)
        if controller_id in site.controllers and clock.at >= since and abs(ahead) >= CLOCK_OFF_TOLD:
            values = {"controller": site.controller_name(controller_id), "span": abs(ahead)}
            told.append(("clock-fast" if ahead > timedelta(0) else "clock-slow", values))
    return told


def week_said(phrases: Phrasebook, told: Sequence[Told], line: Line) -> str:
    """Pieces of `[week]` in a row; for a voice sentence by sentence."""
    pieces = [phrases.week_line(key, values, line=line) for key, values in told]
    return "; ".join(pieces) + "." if line == "mobile" else " ".join(pieces)


def well_now(reader: Reader, site: Site, now: datetime) -> bool:
    """Whether nothing stands: the taps run, no tank that is watched is low or unknown, and no controller silent or unknown."""
    snapshot = take_snapshot(reader, site, now)
    watched = [tank for tank in snapshot.tanks if tank.is_watched]
    return (
        taps_dry(reader) is None
        and not standing(reader)
        and all(tank.state in ("ok", "high") for tank in watched)
        and all(controller.state == "heard" for controller in snapshot.controllers)
    )


def costs(reader: Reader, site: Site, now: datetime) -> dict[str, Money]:
    """What texts cost this month so far, and what a year at the rate of the last thirty days would."""
    limits = site.settings.limits
    local = now.astimezone(site.zone)
    month = datetime(local.year, local.month, 1, tzinfo=site.zone)
    so_far = reader.sent_since(month) * limits.price_per_segment
    thirty = reader.sent_since(now - timedelta(days=30)) * limits.price_per_segment
    return {
        "cost": Money(so_far, limits.currency),
        "year": Money(thirty * (YEAR / timedelta(days=30)), limits.currency),
    }


def _dry_words(reader: Reader, site: Site, now: datetime, line: Line) -> list[str]:
    """That the taps are dry, by whose word since when: a matter of the house, beside what its tanks' floats say."""
    dry = taps_dry(reader)
    if dry is None:
        return []
    label = site.phrases.label("ran-dry", line=line)
    since = site.phrases.format_time(dry.since, now, site.zone, line=line)
    alarms = [alarm for alarm in standing(reader) if alarm.kind == "ran-dry"]
    words = [f"{label[:1].upper()}{label[1:]}", since, *_aside(age_and_taker(site, alarms, now, line) or dry.by, line)]
    return [_in_a_row(words, line)]


def _tank_words(
    site: Site,
    now: datetime,
    snapshot: TankSnapshot,
    alarms: Sequence[Alarm],
    line: Line,
    outlooks: Mapping[str, TankForecast],
) -> str:
    phrases = site.phrases
    state = snapshot.state if snapshot.is_watched else "not-watched"
    words = [phrases.matter(snapshot.tank.name, state, line=line)]
    if snapshot.since and snapshot.state != "ok":
        words.append(phrases.format_time(snapshot.since, now, site.zone, line=line))
    words += _height_read(site, snapshot, line)
    words += _unheard(site, now, outlooks.get(snapshot.tank.id), line)
    words += _aside(age_and_taker(site, alarms, now, line), line)
    if snapshot.paused_until:
        words += _aside(phrases.label("paused", line=line), line)
    return _in_a_row(words, line)


def _unheard(site: Site, now: datetime, forecast: TankForecast | None, line: Line) -> list[str]:
    """Since when nothing was heard of it, and from when it may be dry by what it told last."""
    if forecast is None or forecast.heard_until is None:
        return []
    times = [("unheard", "since", forecast.heard_until)]
    if forecast.dry_at is not None:
        early = forecast.dry_at[0]
        times.append(("dry-from", "from" if early > now else "since", early))
    said = (
        site.phrases.label(key, line=line).format(
            time=site.phrases.format_time(at, now, site.zone, line=line, role=role)
        )
        for key, role, at in times
    )
    return _aside(", ".join(said), line)


def _height_read(site: Site, snapshot: TankSnapshot, line: Line) -> list[str]:
    """How high the water stands by a gauge that counts now."""
    heights = [gauge.measured for gauge in snapshot.gauges if gauge.is_heard and gauge.measured is not None]
    newest = max(heights, key=lambda measured: measured.at, default=None)
    return [] if newest is None else [site.phrases.format_height(newest.level_m, line=line)]


def _box_words(site: Site, now: datetime, snapshot: ControllerSnapshot, alarms: Sequence[Alarm], line: Line) -> str:
    phrases = site.phrases
    words = [phrases.matter(snapshot.controller.name, snapshot.state, line=line)]
    if snapshot.last_heard:
        words.append(phrases.format_time(snapshot.last_heard, now, site.zone, line=line))
    if "volts" in snapshot.numbers:
        words.append(phrases.format_volts(snapshot.numbers["volts"], line=line))
    words += [
        phrases.label(alarm.kind, line=line)
        for alarm in alarms
        if alarm.kind != "silent" and which_of_many(alarm) is None
    ]
    own = [alarm_name(site, alarm, line) for alarm in alarms if which_of_many(alarm) is not None]
    if own:
        words = [f"{_in_a_row(words, line).removesuffix('.')}; {', '.join(own)}"]
    words += _aside(age_and_taker(site, alarms, now, line), line)
    return _in_a_row(words, line)


def _is_of_tank(alarm: Alarm, snapshot: TankSnapshot) -> bool:
    """Whether the alarm is what the tank's state says; dry taps are the house's."""
    return alarm.tank == snapshot.tank.id and alarm.kind == snapshot.state


def _stands(site: Site, alarm: Alarm, now: datetime, line: Line) -> Told:
    values = {"matter": alarm_name(site, alarm, line), "age": now - alarm.since}
    if alarm.taken_by is None:
        return "stands", values
    return "stands-taken", {**values, "who": site.contact_name(alarm.taken_by)}


def _aside(words: str, line: Line) -> list[str]:
    """In brackets on a screen; a voice rests before and behind it."""
    return [] if not words else [f"({words})" if line == "mobile" else words]


def _in_a_row(words: Sequence[str], line: Line) -> str:
    """A voice rests at a comma."""
    return f"{(' ' if line == 'mobile' else ', ').join(words)}."
