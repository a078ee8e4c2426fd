"""What is not well at a site, as `gateway.status` decides it → the page's headline, a line for each, and who sees to it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gateway.facts.alarms import Alarm
from gateway.page.cards import controller_anchor, forecast_words, listed, tank_anchor
from gateway.page.local_calendar import since, when
from gateway.site import Site
from gateway.status.alarm_rounds import alarm_name
from gateway.status.dry_taps import bleed_steps, step_reached, step_said
from gateway.status.forecast import TankForecast
from gateway.status.site_standing import SiteStanding
from gateway.status.standing_alarms import (
    ControllerAlarm,
    GatewayAlarm,
    HouseAlarm,
    StandingAlarm,
    TankAlarm,
    headline_of,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmLine:
    """One thing that is not well: where, what, what to do; `link` is the id of the card it is about."""

    where: str
    what: str
    more: tuple[str, ...] = ()
    link: str = ""


def headline_words(standing: SiteStanding, alarms: Sequence[StandingAlarm]) -> str:
    """The page in one line."""
    headline = headline_of(alarms)
    if headline.about is None:
        return "All is well"
    if isinstance(headline.about, tuple):
        names = [alarm.tank.tank.name for alarm in headline.about]
        first = f"{listed(names)} {'is' if len(names) == 1 else 'are'} LOW"
    else:
        line = alarm_line(standing, headline.about)
        first = f"{line.where} {line.what.rstrip('.')}"
    more = f", and {headline.others} more {'matter' if headline.others == 1 else 'matters'}" if headline.others else ""
    return f"{first}{more}"


def alarm_line(standing: SiteStanding, alarm: StandingAlarm) -> AlarmLine:
    """One thing that is not well, in words."""
    site, now = standing.site, standing.at
    match alarm:
        case HouseAlarm(dry=dry):
            steps = range(step_reached(site, dry), len(bleed_steps(site)))
            told = f"are DRY{since(site, dry.since, now)}, says {dry.by}."
            return AlarmLine(where="The taps", what=told, more=tuple(step_said(site, number) for number in steps))
        case TankAlarm(kind="low"):
            return _low_tank(site, alarm, standing.forecasts[alarm.tank.tank.id], now)
        case TankAlarm():
            tank = alarm.tank.tank
            return AlarmLine(
                where=tank.name, what="is unknown: its floats were not heard of.", link=tank_anchor(tank.id)
            )
        case ControllerAlarm():
            controller = alarm.controller
            what = _controller_words(alarm, since(site, alarm.since, now))
            return AlarmLine(where=controller.name, what=what, link=controller_anchor(controller.id))
        case GatewayAlarm():
            return AlarmLine(
                where="The gateway:", what=f"{site.phrases.label(alarm.kind)}{since(site, alarm.since, now)}."
            )


def open_alarm_line(site: Site, alarm: Alarm, told: Sequence[str], now: datetime) -> str:
    """An alarm that somebody should deal with, who was told of it and who has it."""
    if alarm.taken_by:
        who = f"{site.contact_name(alarm.taken_by)} sees to it{since(site, alarm.taken_at, now)}"
    else:
        names = listed([site.contact_name(contact) or contact for contact in told])
        who = f"told {names or 'nobody yet'}; nobody took it yet"
    return f"Open since {when(site, alarm.raised_at, now)}: {alarm_name(site, alarm, 'mobile')}; {who}."


def _low_tank(site: Site, alarm: TankAlarm, forecast: TankForecast, now: datetime) -> AlarmLine:
    tank, paused_until = alarm.tank.tank, alarm.tank.paused_until
    # What the household saw for itself outweighs what was reckoned.
    outlook = (
        f"Its taps ran DRY: told {when(site, alarm.ran_dry_at, now)}."
        if alarm.ran_dry_at is not None
        else forecast_words(site, forecast, now)
    )
    because = forecast.cause.because if forecast.cause else ""
    paused = f" Work on it goes on until {when(site, paused_until, now)}." if paused_until else ""
    outlook_and_cause = " ".join(words for words in (outlook, because) if words)
    advice = site.phrases.sentence("advice", forecast.advice)
    return AlarmLine(
        where=tank.name,
        what=f"is LOW{since(site, alarm.tank.since, now)}.{paused}",
        more=tuple(words for words in (outlook_and_cause, advice) if words),
        link=tank_anchor(tank.id),
    )


def _controller_words(alarm: ControllerAlarm, since_when: str) -> str:
    match alarm.kind:
        case "silent":
            return f"is SILENT: not heard{since_when}."
        case "never-heard":
            return "was never heard."
        case "no-power":
            return f"has no power{since_when}."
        case "battery-low":
            return f"has a LOW battery{since_when}."
