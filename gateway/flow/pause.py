"""Work on a tank: its messages are held until the end; then who asked learns it, and a tank that is low is told."""

from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.flow.happen import happen
from gateway.flow.house import Moment
from gateway.flow.post import post
from gateway.flow.tell import about, announce
from gateway.phrases.book import Label, When
from gateway.ports import PauseRow
from gateway.settings.models import Contact, Tank


def pause_tank(
    moment: Moment, tank: Tank, length: timedelta, *, by: Contact | None, text: str | None = None
) -> datetime:
    """Keeps the pause and puts it on record; all others who hear of tanks are told who works there. Returns its end."""
    house = moment.house
    until = moment.now + length
    moment.tx.put_pause(tank.id, moment.now, until, by.id if by else None)
    event = happen(
        moment,
        Event(
            kind="paused",
            at=moment.now,
            heard_at=moment.now,
            known_at=moment.now,
            tank=tank.id,
            text=text,
            sender=by.number if by else None,
            detail={"until": until.isoformat(), "by": by.id if by else None},
        ),
    )
    values = {
        "who": by.name if by else house.phrases.label("somebody"),
        "tank": tank.name,
        "until": When(until, moment.now, house.zone),
    }
    for contact in about(house, "tanks"):
        if by is None or contact.id != by.id:
            said = house.phrases.say("pause-told", values, segments=house.settings.limits.segments, line=contact.line)
            post(moment, contact, said, urgent=False, subject="tanks", event=event.id)
    return until


def pauses_due(moment: Moment) -> bool:
    """Pauses whose time is over. True if there was one."""
    over = [one for one in moment.tx.pauses() if one.until <= moment.now]
    for one in over:
        moment.tx.end_pause(one.id)
        _end(moment, one)
    return bool(over)


def _end(moment: Moment, pause: PauseRow) -> None:
    house = moment.house
    if pause.tank not in house.tanks:
        return
    active = _active_since_before(moment, pause.tank)
    state = active.kind if active else "ok"
    event = happen(
        moment,
        Event(
            kind="pause-over",
            at=moment.now,
            heard_at=moment.now,
            known_at=moment.now,
            tank=pause.tank,
            detail={"state": state},
        ),
    )
    asker = house.contacts.get(pause.by or "")
    values = {"tank": house.tank_name(pause.tank), "state": Label(state)}
    told = (asker,) if asker else about(house, "tanks")
    for contact in told:
        said = house.phrases.say("pause-over", values, segments=house.settings.limits.segments, line=contact.line)
        post(moment, contact, said, urgent=False, subject="tanks", event=event.id)
    if active is not None:
        announce(moment, active)


def _active_since_before(moment: Moment, tank: str) -> Event | None:
    """The event that says the tank is low or high now, if it is."""
    from gateway.flow.floats import remembered

    for placed in moment.house.floats_of(tank):
        if remembered(moment, placed).state == "active":
            last = moment.tx.last_event((placed.float.means,), tank=tank)
            if last is not None:
                return last
    return None
