"""The store → what `doctor` says of the daemon, its troubles, waiting messages, backups, credit, batteries and cost."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.commands.finding import Finding
from gateway.commands.showing import local
from gateway.facts import KINDS
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.battery import battery_now, battery_said
from gateway.status.credit import LAST
from gateway.status.summary import costs
from gateway.status.troubles import trouble_since, troubles
from gateway.status.waiting import stuck

BACKUP_TOO_OLD = timedelta(days=3)
LOW_SOON = timedelta(days=7)


def stored_findings(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """In order of weight."""
    yield _daemon(site)
    yield from _troubles(site, reader)
    yield _outbox(site, reader, now)
    yield _backup(site, reader, now)
    yield _credit(site, reader)
    yield from _batteries(site, reader, now)
    yield from _cost(site, reader, now)


def _daemon(site: Site) -> Finding:
    from gateway.storage import holder

    pid = holder(site.settings.store.url, site.settings.site.name)
    return Finding(
        what="daemon",
        right=pid is not None,
        said=f"runs as process {pid}" if pid else "does not run",
        do="" if pid else "sudo systemctl start tank-gateway (or tank-gateway serve)",
    )


def _troubles(site: Site, reader: Reader) -> Iterator[Finding]:
    for kind in troubles(reader):
        since, remedy = trouble_since(reader, kind), KINDS[kind].remedy
        if since and remedy:
            last = reader.last_event((kind,))
            why = (last.detail.get("why") or last.text or "") if last else ""
            said = f"since {local(since, site.zone)} {why}".strip()
            yield Finding(what=kind, right=False, said=said, do=remedy)


def _outbox(site: Site, reader: Reader, now: datetime) -> Finding:
    outbox = reader.outbox()
    waiting = [one for one in outbox if one.state != "held"]
    held = len(outbox) - len(waiting)
    late = stuck(reader, now)
    said = f"{len(waiting)} messages wait" + (f", {held} are held till later" if held else "")
    if late:
        said += f"; {len(late)} of them too long, since {local(min(one.at for one in late), site.zone)}"
    return Finding(
        what="outbox", right=not late, said=said, do="look at the modem, the SIM and the signal" if late else ""
    )


def _backup(site: Site, reader: Reader, now: datetime) -> Finding:
    if not site.settings.store.url.startswith("sqlite"):
        return Finding(what="backup", right=None, said="the store is a server's", do="see that the server is backed up")
    if not site.settings.store.backup_folder:
        return Finding(
            what="backup", right=None, said="none is made by itself", do="store.backup_folder on another medium"
        )
    last = reader.last_event(("backup-made",))
    good = last is not None and now - last.at < BACKUP_TOO_OLD
    return Finding(
        what="backup",
        right=good,
        said=f"last {local(last.at, site.zone)}" if last else "none was made yet",
        do="" if good else "look at store.backup_folder and the log",
    )


def _credit(site: Site, reader: Reader) -> Finding:
    """What the network said last of the SIM's credit."""
    balance = site.settings.balance
    if not balance.ussd:
        return Finding(what="credit", right=None, said="is not asked", do="[balance] for a prepaid SIM")
    last = reader.mark(LAST)
    if last is None:
        return Finding(what="credit", right=None, said=f"{balance.ussd} was not asked yet")
    when = local(datetime.fromisoformat(last["at"]), site.zone)
    if last["amount"] is None:
        said = f"{when}: {last['why']}" + (f": {last['said']}" if last["said"] else "")
        return Finding(what="credit", right=None, said=said, do="mend balance.pattern or balance.ussd, if it stays so")
    low = balance.low is not None and last["amount"] < balance.low
    said = f"{last['amount']:.2f} {site.settings.limits.currency} ({when})"
    return Finding(what="credit", right=not low, said=said, do="top it up" if low else "")


def _batteries(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    """Of every controller whose volts are read."""
    for one in site.settings.controllers:
        found = battery_now(reader, site, one, now)
        if found is None:
            continue
        soon = found.volts <= found.limit or (found.low_on is not None and found.low_on - now <= LOW_SOON)
        yield Finding(
            what=f"battery of {one.name}",
            right=not soon,
            said=battery_said(site, found, now),
            do="look at its panel (dirt, shade, cable) and the battery's age; charge it before it is flat"
            if soon
            else "",
        )


def _cost(site: Site, reader: Reader, now: datetime) -> Iterator[Finding]:
    if site.settings.limits.price_per_segment > 0:
        said = costs(reader, site, now)
        yield Finding(
            what="cost", right=True, said=f"this month {said['cost']}, a year like the last 30 days {said['year']}"
        )
