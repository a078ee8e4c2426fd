"""Who would notice if this board died, and how late: what the household hears of it must stop coming, for a dead board tells nothing."""

from dataclasses import dataclass
from datetime import timedelta

from gateway.settings.models import Settings

WEEK = timedelta(days=7)
BY_MQTT = timedelta(minutes=2)
"""A broker tells what a client leaves behind after one and a half times its keep-alive of a minute (MQTT 5.0, 3.1.2.10)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notices:
    """`who` misses `what`; `within`: so late at most."""

    who: str
    what: str
    within: timedelta


def who_would_notice(settings: Settings) -> tuple[Notices, ...]:
    """Soonest first; empty: nobody."""
    notices: list[Notices] = []
    if settings.mqtt.url:
        what = "the broker says that it is lost"
        notices.append(Notices(who="whoever looks at [mqtt]", what=what, within=BY_MQTT))
    names = {contact.id: contact.name for contact in settings.contacts}
    weekly = [names[contact] for contact in settings.digest.contacts if contact in names]
    if settings.digest.day != "off" and weekly:
        what = f"no message on {settings.digest.day.capitalize()} at {settings.digest.time}"
        notices.append(Notices(who=" and ".join(weekly), what=what, within=WEEK))
    if settings.drill.every is not None and names:
        every = settings.drill.every
        notices.append(Notices(who="everybody", what="no test of the chain", within=every))
    return tuple(sorted(notices, key=lambda notice: notice.within))
