"""The record → what `doctor` says of the daemon, its troubles, waiting messages, backups, credit, batteries and cost."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import partial

from gateway.commands.doctor_findings import Finding
from gateway.commands.terminal_output import counted, local_time
from gateway.errors import StoreUnwritable
from gateway.facts import KINDS
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.battery import BatteryNow, battery_now, battery_said
from gateway.status.broker import COUNTED, NO_LIBRARY, broker_seen
from gateway.status.cards import cards_until
from gateway.status.credit import last_credit
from gateway.status.gateway_troubles import trouble_since, troubles
from gateway.status.silence import losses_of, rhythm_of, rhythm_said
from gateway.status.summary import costs
from gateway.status.waiting import stuck
from gateway.storage import holder

BACKUP_TOO_OLD = timedelta(days=3)
LOW_SOON = timedelta(days=7)
NOT_REACHED = (
    "look whether the broker runs, at [mqtt], and at this board's way to it (sudo dpkg-reconfigure tank-gateway-mqtt)"
)
MEASURED = ("disk-low", "outbox-waits", "credit-low")
"""Troubles that `doctor` measures anew instead of telling what is on record."""


def record_findings(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """In order of weight."""
    yield daemon_finding(site)
    yield from _troubles(site, reader)
    yield _outbox(site, reader, now)
    yield _backup(site, reader, now)
    yield from _broker(site, reader, now)
    yield _credit(site, reader)
    yield from _cards(site, reader, now)
    yield from _rhythms(site, reader, now)
    yield from _batteries(site, reader, now)
    yield from _cost(site, reader, now)


def daemon_finding(site: Site) -> Finding:
    """Whether one works on this store."""
    try:
        pid = holder(site.settings.store.url, site.settings.site.name)
    except StoreUnwritable as theirs:
        return Finding(what="daemon", right=None, text=theirs.said)
    return Finding(
        what="daemon",
        right=pid is not None,
        text=f"runs as process {pid}" if pid else "does not run",
        remedy="" if pid else "sudo systemctl start tank-gateway (or tank-gateway serve)",
    )


def _troubles(site: Site, reader: Reader) -> Iterator[Finding]:
    """Each with what helps; those of `MEASURED` have findings of their own."""
    for kind in troubles(reader):
        since, remedy = trouble_since(reader, kind), KINDS[kind].do
        if since and kind not in MEASURED:
            event = reader.last_event((kind,))
            why = (event.detail.get("why") or event.text or "") if event else ""
            text = f"since {local_time(since, site.zone)} {why}".strip()
            yield Finding(what=kind, right=False, text=text, remedy=remedy)


def _outbox(site: Site, reader: Reader, now: datetime) -> Finding:
    messages, late = reader.outbox(), stuck(reader, now)
    waiting = sum(1 for message in messages if message.state != "held")
    held = len(messages) - waiting
    text = f"{counted(waiting, 'message')} {'waits' if waiting == 1 else 'wait'}"
    text += f", {held} {'is' if held == 1 else 'are'} held till later" if held else ""
    if late:
        oldest = min(message.at for message in late)
        text += f"; {len(late)} of them too long, since {local_time(oldest, site.zone)}"
    remedy = "look at the modem, the SIM and the signal" if late else ""
    return Finding(what="outbox", right=not late, text=text, remedy=remedy)


def _backup(site: Site, reader: Reader, now: datetime) -> Finding:
    store = site.settings.store
    if not store.url.startswith("sqlite"):
        text, remedy = "the store is a server's", "see that the server is backed up"
        return Finding(what="backup", right=None, text=text, remedy=remedy)
    if not store.backup_folder:
        text, remedy = "none is made by itself", "store.backup_folder on another medium"
        return Finding(what="backup", right=None, text=text, remedy=remedy)
    made = reader.last_event(("backup-made",))
    right = made is not None and now - made.at < BACKUP_TOO_OLD
    return Finding(
        what="backup",
        right=right,
        text=f"last {local_time(made.at, site.zone)}" if made else "none was made yet",
        remedy="" if right else "look at store.backup_folder and the log",
    )


def _broker(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """The MQTT broker, where the household has one. Without a daemon what is on record says nothing of now."""
    url = site.settings.mqtt.url
    if not url:
        return
    seen = broker_seen(reader)
    waiting = f"more than {COUNTED} events" if seen.waiting == COUNTED else counted(seen.waiting, "event")
    told = f"; {waiting} {'waits' if seen.waiting == 1 else 'wait'} for it" if seen.waiting else ""
    told += f"; the last event it took: {local_time(seen.taken_at, site.zone)}" if seen.taken_at is not None else ""
    found = partial(Finding, what="MQTT broker")
    if daemon_finding(site).right is not True:
        yield found(right=None, text=f"{url} is not spoken to while the daemon does not run{told}")
    elif seen.link is None:
        yield found(right=None, text=f"{url} was not tried yet{told}")
    elif not seen.link.reached:
        text = f"{url} is not reached since {local_time(seen.link.since, site.zone)}: {seen.link.why}{told}"
        yield found(right=False, text=text, remedy="" if seen.link.why == NO_LIBRARY else NOT_REACHED)
    elif seen.hangs(now):
        text = f"{url} is reached since {local_time(seen.link.since, site.zone)} and takes nothing{told}"
        yield found(right=False, text=text, remedy="look at the broker, and start it again")
    else:
        yield found(right=True, text=f"{url} is reached since {local_time(seen.link.since, site.zone)}{told}")


def _cards(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """The cards that the chain hangs on, with their days."""
    for until in cards_until(reader, site, now):
        past = " (past)" if until.days_left < 0 else ""
        text = f"{until.card.name} {until.words} {until.on}{past}"
        yield Finding(
            what="card", right=until.step is None, text=text, remedy="" if until.step is None else "renew or use it"
        )


def _credit(site: Site, reader: Reader) -> Finding:
    """What the network said last of the SIM's credit."""
    balance, answer = site.settings.balance, last_credit(reader)
    if not balance.ussd:
        return Finding(what="credit", right=None, text="is not asked", remedy="[balance] for a prepaid SIM")
    if answer is None:
        return Finding(what="credit", right=None, text=f"{balance.ussd} was not asked yet")
    when = local_time(answer.at, site.zone)
    if answer.amount is None:
        text = f"{when}: {answer.why}" + (f": {answer.said}" if answer.said else "")
        remedy = "mend balance.pattern or balance.ussd, if it stays so"
        return Finding(what="credit", right=None, text=text, remedy=remedy)
    low = balance.low is not None and answer.amount < balance.low
    text = f"{answer.amount:.2f} {site.settings.limits.currency} ({when})"
    return Finding(what="credit", right=not low, text=text, remedy="top it up" if low else "")


def _rhythms(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """Of every controller that is watched for silence: how often it texts, and whether more of that stays away than usual."""
    for controller in site.settings.controllers:
        rhythm = rhythm_of(reader, controller, known_by=now) if controller.silence_after is not None else None
        if rhythm is None:
            continue
        losses = losses_of(reader, controller, rhythm)
        remedy = "look at its aerial, its battery and its card"
        yield Finding(
            what=f"texts of {controller.name}",
            right=not losses.rarer,
            text=rhythm_said(site, controller, rhythm, losses),
            remedy=remedy if losses.rarer else "",
        )


def _batteries(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """Of every controller whose volts are read."""
    advice = "look at its panel (dirt, shade, cable) and the battery's age; charge it before it is flat"
    for controller in site.settings.controllers:
        battery = battery_now(reader, site, controller, now)
        if battery is not None:
            soon = _soon_low(battery, now)
            yield Finding(
                what=f"battery of {controller.name}",
                right=not soon,
                text=battery_said(site, battery, now),
                remedy=advice if soon else "",
            )


def _soon_low(battery: BatteryNow, now: datetime) -> bool:
    return battery.volts <= battery.limit or (battery.low_on is not None and battery.low_on - now <= LOW_SOON)


def _cost(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    if site.settings.limits.price_per_segment > 0:
        cost = costs(reader, site, now)
        text = f"this month {cost['cost']}, a year like the last 30 days {cost['year']}"
        yield Finding(what="cost", right=True, text=text)
