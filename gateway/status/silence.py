"""A controller's texts and now → how it stands: how long it may be silent, whether it is, and what probably lies behind that."""

from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from gateway.facts.states.controllers_and_tanks import Asked, PowerLost, Silence, TextsRarer, Watched
from gateway.facts.states.errands_and_tests import ErrandUnderWay
from gateway.facts.states.gateway_itself import ClockEvidence, ModemCondition
from gateway.facts.states.people import AdoptionAsked
from gateway.heartbeats.controller_verdict import Verdict, judge
from gateway.heartbeats.rhythm import Rhythm, learn_rhythm
from gateway.heartbeats.silence_cause import why_silent
from gateway.heartbeats.silence_limit import DAILY, TIMES_ASKED, UNLEARNT, false_alarms_a_year, silence_limit
from gateway.heartbeats.texts_rarer import LossWatch, watch_losses
from gateway.inbox import clock_standing, clock_trusted
from gateway.ports import HEARD_AT_MOST, Reader
from gateway.power.low_battery import USUAL_V, believable, nominal_v
from gateway.power.monthly_outlook import power_outlook
from gateway.settings.controller_tables import Ask, Controller
from gateway.site import Site
from gateway.status.gateway_troubles import trouble_since

ANSWERS_WITHIN = timedelta(minutes=15)
MOST_OF_A_DAILY_S = 30 * 3600.0
"""A box whose text is due later than this is no daily one."""
ASK_AHEAD = timedelta(minutes=30)
"""Half of the hour that a daily box has from when its text was due to its limit (EN 50136-1 SP2)."""
LOOK_BACK = timedelta(days=14)


def verdict_of(reader: Reader, controller: Controller, now: datetime) -> Verdict:
    """How the controller stands now: fine, to be asked, or silent; all by our own clock.

    Texts that were imported from before the gateway watched are no reason for a silence.
    """
    watched, asked = reader.state(Watched, controller.id), reader.state(Asked, controller.id)
    since = min(watched.since, now) if watched is not None else now
    off = clock_off(reader, now)
    heard = last_heard(reader, controller, now)
    heard = heard - off if heard is not None else None
    verdict = judge(
        limit=limit_of(reader, controller, known_by=max(now, now + off)),
        times_asked=TIMES_ASKED if controller.silence_after == "auto" else 1,
        last_heard=max(heard, since) if heard else None,
        watched_since=since,
        asked_at=asked.at if asked is not None else None,
        flagged=flagged_silent(reader, controller),
        ask=_ask_of(controller),
        now=now,
    )
    # one errand at a time: what somebody sent it is under way, and asks it just as well
    under_way = reader.state(ErrandUnderWay, controller.id)
    return replace(verdict, ask_now=False) if under_way is not None and not under_way.own else verdict


def limit_of(reader: Reader, controller: Controller, *, known_by: datetime | None = None) -> timedelta | None:
    """How long the controller may be silent: its own limit, its learnt rhythm, or None for off."""
    if controller.silence_after != "auto":
        return controller.silence_after
    rhythm = rhythm_of(reader, controller, known_by=known_by)
    return UNLEARNT if rhythm is None else silence_limit(rhythm, asks=bool(controller.ask.text))


def rhythm_of(reader: Reader, controller: Controller, *, known_by: datetime | None = None) -> Rhythm | None:
    """How often the controller texts by itself; None before its second interval.

    What it answered before a silence is left out: it would hide that the text which was due did not come. One that is asked regularly
    has no other rhythm than its answers.
    """
    times = reader.heard_times(controller.id, limit=HEARD_AT_MOST, known_by=known_by)
    if times and controller.ask.text and controller.ask.every is None:
        asked = [
            event.at for event in reader.events(controller=controller.id, since=times[0], kinds=("errand-ordered",))
        ]
        times = tuple(at for at in times if not any(order <= at <= order + ANSWERS_WITHIN for order in asked))
    return learn_rhythm(times)


def losses_of(reader: Reader, controller: Controller, rhythm: Rhythm) -> LossWatch:
    """Whether its texts get rarer: by what was usual when that was said, and by what was due since they were last said to come again."""
    told = reader.state(TextsRarer, controller.id)
    well = reader.last_event(("texts-regular",), controller=controller.id)
    return watch_losses(rhythm, told.usual if told else None, well.at if well is not None else None)


def rhythm_said(site: Site, controller: Controller, rhythm: Rhythm, losses: LossWatch) -> str:
    """What its texts say of it; where its limit is learnt, what 25 hours would cost instead."""
    words = [f"one in about {_about(rhythm.period_s)}, {rhythm.loss:.0%} of those due do not come"]
    if losses.rarer:
        since = losses.since.astimezone(site.zone)
        words.append(f"since {since:%Y-%m-%d} more of them: {losses.lost} of {losses.due}")
    if controller.silence_after == "auto":
        words.append(auto_said(rhythm, asks=bool(controller.ask.text)))
    return "; ".join(words)


def auto_said(rhythm: Rhythm, *, asks: bool) -> str:
    """`silent after 49.5 h: 25 h (EN 50136) would call it silent 7.2 times a year when it is well`."""
    limit = silence_limit(rhythm, asks=asks)
    taken = f"silent after {_about(limit.total_seconds())}"
    if limit <= DAILY or rhythm.limit_s(1) > MOST_OF_A_DAILY_S:
        return taken
    a_year = false_alarms_a_year(rhythm, DAILY, asks=asks)
    return f"{taken}: 25 h (EN 50136-1) would call it silent about {a_year:.1f} times a year while it is well"


def _about(seconds: float) -> str:
    return f"{seconds / 86_400:.1f} d" if seconds >= 4 * 86_400 else f"{seconds / 3600:.1f} h"


def _ask_of(controller: Controller) -> Ask:
    """Where the limit is learnt it ends soon after the text was due: that has half of the time to come by itself."""
    ask = controller.ask
    if controller.silence_after != "auto":
        return ask
    return ask.model_copy(update={"before_silence": min(ask.before_silence, ASK_AHEAD)})


def last_heard(reader: Reader, controller: Controller, now: datetime) -> datetime | None:
    """The controller's last sign of life that can be true: one later than now was kept by a clock that was ahead."""
    return reader.last_heard(controller.id, known_by=max(now, now + clock_off(reader, now)))


def clock_off(reader: Reader, now: datetime) -> timedelta:
    """By how much the times of texts are ahead of our clock, as far as the network's stamps tell. A silence lasts as long as by our own
    clock, however wrong that is."""
    return clock_standing(now, reader.state(ClockEvidence)).may_be_off


def flagged_silent(reader: Reader, controller: Controller) -> bool:
    """Whether the controller was found silent and not heard since."""
    return reader.state(Silence, controller.id) is not None


def silence_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When each controller must be judged next; never while our clock cannot be right."""
    if not clock_trusted(now):
        return
    for controller in site.settings.controllers:
        verdict = verdict_of(reader, controller, now)
        to_be_flagged = verdict.state == "silent" and not flagged_silent(reader, controller)
        if to_be_flagged or verdict.ask_now or not _watched(reader, controller, now):
            yield now
        elif verdict.due is not None:
            yield verdict.due


def silence_cause(
    reader: Reader, site: Site, now: datetime, controller: Controller, since: datetime, fallen: Collection[str] = ()
) -> dict[str, Any]:
    """What probably lies behind a silence: `{"cause", "because", …}` where something is known, else nothing.

    Evidence: whether the controller had lost its power, how its volts moved, what its outlook says of the month, whether our own
    modem has a network, and who else fell silent since it has none. `fallen`: all that are found silent by this verdict.
    """
    asked = reader.states(AdoptionAsked).values()
    if any(
        question.of == "controller" and question.whose == controller.id and question.at >= since for question in asked
    ):
        return {
            "cause": "new-number",
            "because": "Texts like its came from a number that is not its own here: ADOPT adds it.",
        }
    power = controller.power
    events = reader.events(controller=controller.id, since=since - LOOK_BACK, until=since)
    volts = [
        (event.at, float(event.detail["volts"]))
        for event in events
        if isinstance(event.detail.get("volts"), int | float)
    ]
    nominal = nominal_v(power, [value for _, value in volts])
    condition = reader.state(ModemCondition)
    why = why_silent(
        power_lost=reader.state(PowerLost, controller.id) is not None,
        volts=[] if nominal is None else [reading for reading in volts if believable(reading[1], nominal)],
        others_silent=_others_silent(reader, site, controller, fallen),
        our_signal=condition.registered if condition is not None else None,
        since=since,
        nominal_v=nominal or USUAL_V,
        sun_short=_sun_short(site, controller, since),
    )
    if why.kind == "unknown":
        return {}
    data = {"last_volts" if name == "volts" else name: value for name, value in why.data.items()}
    return {"cause": why.kind, "because": why.because, **data}


def _watched(reader: Reader, controller: Controller, now: datetime) -> bool:
    watched = reader.state(Watched, controller.id)
    return watched is not None and watched.since <= now


def _others_silent(reader: Reader, site: Site, controller: Controller, fallen: Collection[str]) -> int:
    """How many others fell silent since our modem has no network; a box that died long before proves nothing."""
    lost = trouble_since(reader, "signal-lost")
    count = 0
    for other in site.settings.controllers:
        silence = reader.state(Silence, other.id)
        lately = lost is not None and silence is not None and silence.flagged_at >= lost
        count += other.id != controller.id and (other.id in fallen or lately)
    return count


def _sun_short(site: Site, controller: Controller, since: datetime) -> bool:
    """Whether its panel may not carry it then: a month that uses more than it gets, or the worst one without two dull weeks in store."""
    if controller.power is None or controller.power.panel is None:
        return False
    outlook = power_outlook(controller.id, controller.power, site.settings.site.latitude)
    if outlook.sun_unknown or outlook.carries:
        return False
    month = since.astimezone(site.zone).month
    return month == outlook.worst_month or month in outlook.short_months()
