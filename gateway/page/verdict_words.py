"""Whether the taps will run dry and what else is not well, as `gateway.status` decides it → the sentences that the page begins with."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.page.cards import controller_anchor, forecast_words, listed, tank_anchor
from gateway.phrases.phrasebook import When
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.dry_taps import bleed_steps, step_reached, step_said, taps_dry
from gateway.status.site_standing import SiteStanding
from gateway.status.standing_alarms import StandingAlarm
from gateway.status.taps_verdict import TapsVerdict

NAMED_BY_ITS_EVENT = ("input-active", "reading-low", "reading-high")


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictWords:
    """The page in one sentence, who sees to it, and what is to be done. `is_reckoned`: the sentence is no matter of what was heard alone."""

    sentence: str
    more: tuple[str, ...]
    todo: tuple[str, ...]
    is_well: bool
    is_reckoned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmLine:
    """One thing that is not well, who sees to it, and on demand why, who was told and what goes with it; `link`: the id of its card."""

    what: str
    who: str = ""
    reckoned: tuple[str, ...] = ()
    more: tuple[str, ...] = ()
    link: str = ""


def verdict_words(
    reader: Reader,
    standing: SiteStanding,
    verdict: TapsVerdict,
    alarms: Sequence[StandingAlarm],
    *,
    off_since: datetime | None = None,
) -> VerdictWords:
    """The first lines of the page. `off_since`: the gateway was stopped then and has not run since."""
    site, now = standing.site, standing.at
    more = []
    if verdict.matter is not None and verdict.matter.alarm is not None:
        more.append(_who(site, verdict.matter, now))
    if off_since is not None:
        more.append(site.phrases.page("taps.off", since=When(off_since, now, site.zone)))
    elif verdict.deaf_since is not None:
        more.append(site.phrases.page("taps.deaf", since=When(verdict.deaf_since, now, site.zone)))
    return VerdictWords(
        sentence=_sentence(site, verdict, now),
        more=tuple(more),
        todo=tuple(dict.fromkeys(_todo(reader, standing, verdict, alarms, is_off=off_since is not None))),
        is_well=verdict.is_well and verdict.deaf_since is None and off_since is None,
        is_reckoned=(verdict.times or verdict.least) is not None,
    )


def alarm_line(standing: SiteStanding, alarm: StandingAlarm, *, above: bool = False) -> AlarmLine:
    """One thing that is not well, in words. `above`: who sees to it is said with the verdict."""
    site = standing.site
    link = ""
    if alarm.kind != "ran-dry" and alarm.tank in site.tanks:
        link = tank_anchor(alarm.tank or "")
    elif alarm.controller in site.controllers:
        link = controller_anchor(alarm.controller or "")
    return AlarmLine(
        what=alarm_words(site, alarm, standing.at),
        who=_who(site, alarm, standing.at) if alarm.alarm is not None and not above else "",
        reckoned=tuple(_reckoned(standing, alarm)),
        more=tuple(_known(standing, alarm)),
        link=link,
    )


def alarm_words(site: Site, alarm: StandingAlarm, now: datetime) -> str:
    """`House tank LOW since 07:15.`"""
    what = _name(site, alarm)
    if alarm.since is None:
        return site.phrases.page("alarm.plain", what=what)
    return site.phrases.page("alarm.since", what=what, since=When(alarm.since, now, site.zone))


def _sentence(site: Site, verdict: TapsVerdict, now: datetime) -> str:
    values: dict[str, object] = {"tank": site.tank_name(verdict.tank), "by": verdict.by, "least": verdict.least}
    if verdict.since is not None:
        values["since"] = When(verdict.since, now, site.zone)
    if verdict.least is not None:
        values["until"] = When(now + verdict.least, now, site.zone)
    key: str = verdict.state
    if verdict.times is not None:
        early, likely, _ = verdict.times
        values |= {"early": When(early, now, site.zone), "likely": When(likely, now, site.zone)}
        if key == "may-run-dry" and early - now < timedelta(minutes=1):
            key = "perhaps-dry"
        elif key == "unseen":
            key = "unseen-dry" if early > now else "unseen-dry-since"
    return site.phrases.page(f"taps.{key}", **values)


def _todo(
    reader: Reader, standing: SiteStanding, verdict: TapsVerdict, alarms: Sequence[StandingAlarm], *, is_off: bool
) -> Iterator[str]:
    """What is to be done for the taps, the first thing first."""
    site = standing.site
    if is_off:
        yield site.phrases.page("todo.off")
    elif verdict.deaf_since is not None:
        yield site.phrases.page("todo.deaf")
    dry = taps_dry(reader)
    if dry is not None:
        yield from (step_said(site, number) for number in range(step_reached(site, dry), len(bleed_steps(site))))
        return
    if verdict.state == "unseen" and verdict.matter is not None and not is_off:  # else nobody listens to the box
        box = site.controller_name(verdict.matter.controller)
        yield site.phrases.page("todo.unseen", box=box, tank=site.tank_name(verdict.tank))
    elif verdict.state in ("never-told", "unwatched"):
        yield site.phrases.page(f"todo.{verdict.state}")
    every = (shown for alarm in alarms for shown in (alarm, *alarm.folded))
    for alarm in every:
        if alarm.kind == "low" and alarm.tank is not None and alarm.tank in standing.forecasts:
            advice = site.phrases.sentence("advice", standing.forecasts[alarm.tank].advice)
            yield from (advice,) if advice else ()
    if verdict.state == "may-run-dry" and not any(alarm.kind == "low" for alarm in alarms):
        yield site.phrases.page("todo.may-run-dry")


def _name(site: Site, alarm: StandingAlarm) -> str:
    """`House tank LOW`, `Lid is open`."""
    phrases = site.phrases
    if alarm.kind in NAMED_BY_ITS_EVENT and alarm.named:
        return alarm.named if alarm.kind == "input-active" else f"{alarm.named}: {phrases.label(alarm.kind)}"
    if alarm.kind != "ran-dry" and (name := site.tank_name(alarm.tank) or site.controller_name(alarm.controller)):
        return phrases.matter(name, alarm.kind)
    label = phrases.label(alarm.kind)
    return f"{label[:1].upper()}{label[1:]}" if alarm.kind == "ran-dry" else phrases.page("alarm.gateway", label=label)


def _who(site: Site, alarm: StandingAlarm, now: datetime) -> str:
    """Who sees to it, else who was told."""
    row = alarm.alarm
    if row is not None and row.state == "reckoned-over":
        return site.phrases.page("who.reckoned-over", word=site.phrases.order_words()["safe"][0])
    if row is not None and row.taken_by is not None:
        since = When(row.taken_at, now, site.zone) if row.taken_at is not None else None
        return site.phrases.page("who.taken", who=site.contact_name(row.taken_by), since=since)
    names = [site.contact_name(contact) or contact for contact in alarm.told]
    return site.phrases.page("who.told", names=listed(site, names)) if names else site.phrases.page("who.untold")


def _reckoned(standing: SiteStanding, alarm: StandingAlarm) -> Iterator[str]:
    """The forecast and the likely cause."""
    if alarm.kind == "low" and alarm.tank is not None and alarm.tank in standing.forecasts:
        forecast = standing.forecasts[alarm.tank]
        cause = standing.site.phrases.sentence("cause", forecast.cause.kind if forecast.cause else None)
        yield from (words for words in (forecast_words(standing.site, forecast, standing.at), cause) if words)


def _known(standing: SiteStanding, alarm: StandingAlarm) -> Iterator[str]:
    """Work on it, who was told, what goes with it."""
    site, now = standing.site, standing.at
    if alarm.kind == "low" and alarm.tank is not None and alarm.tank in standing.forecasts:
        paused_until = standing.snapshot.tank(alarm.tank).paused_until
        if paused_until is not None:
            yield site.phrases.page("alarm.work", until=When(paused_until, now, site.zone))
    names = [site.contact_name(contact) or contact for contact in alarm.told]
    if names and alarm.alarm is not None and alarm.alarm.taken_by is not None:
        yield site.phrases.page("who.knew", names=listed(site, names))
    yield from (site.phrases.page("alarm.with", what=alarm_words(site, other, now)) for other in alarm.folded)
