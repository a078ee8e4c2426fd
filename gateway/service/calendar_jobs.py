"""What the daemon does beside its main job, each by the calendar: the day's backup, a fresh page in its folder, a look at the disk, the
SIM's credit, the week's message, raw PDUs that are too old.

`calendar_jobs` is the table of them; when each is due follows from its trigger there.
"""

import errno
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from gateway.errors import StoreTrouble
from gateway.facts.states.gateway_itself import ClockConfirmed
from gateway.handlers import cold, credit, due, gateway_health, gateway_life
from gateway.handlers.cards import tell_of_cards
from gateway.handlers.thin_levels import levels_to_thin, thin_levels
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Modem, Reader, Store
from gateway.service.error_boundary import Within
from gateway.service.job_calendar import CalendarJob, NoteRun, Trigger, daily_at, every, weekly_at
from gateway.service.journal import Journal
from gateway.service.kept_fresh import FreshFile, KeptFresh
from gateway.settings.models import Settings
from gateway.site import Site
from gateway.status import gateway_troubles
from gateway.status.cold_season import cold_seasons
from gateway.status.credit import credit_failures
from gateway.status.record_mark import record_mark
from gateway.storage import sqlite_file
from gateway.storage.backup import rotate
from gateway.whole_file import write_whole

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
RAW_PDUS_KEPT = timedelta(days=400)
"""A year and what it takes to look into it; texts and events stay for ever."""
CARDS_AT_H = 10
CONFIRMED_WITHIN = timedelta(days=100)
PAGE_EVERY, PAGE_SLACK = timedelta(minutes=10), timedelta(minutes=5)
"""A page says until when it is good: the next one is written by then, with some time to spare for a slow board."""


def calendar_jobs(
    store: Store,
    modem: Modem,
    modem_ready: Callable[[], bool],
    within: Within,
    journal: Journal,
    disk_every: timedelta = 10 * MINUTE,
) -> tuple[CalendarJob, ...]:
    """The table: name, when, what."""
    return (
        CalendarJob(name="backup", trigger=_backup_trigger, run=partial(_back_up, store, within, journal)),
        CalendarJob(name="weekly", trigger=_weekly_trigger, run=partial(_send_weekly, within)),
        CalendarJob(
            name="credit", trigger=partial(_credit_trigger, modem_ready), run=partial(_ask_credit, modem, within)
        ),
        *(KeptFresh(file, store, journal).job() for file in (PAGE, METRICS)),
        CalendarJob(
            name="disk",
            trigger=lambda reader, site: every(disk_every),
            run=partial(_look_at_disk, store, within),
            kept=False,
            with_unset_clock=True,
        ),
        CalendarJob(name="cards", trigger=_cards_trigger, run=partial(_tell_of_cards, within)),
        CalendarJob(
            name="cold-season",
            trigger=lambda reader, site: every(DAY),
            run=partial(_tell_cold_season, store, within),
            kept=False,
        ),
        CalendarJob(
            name="thin-levels",
            trigger=lambda reader, site: every(DAY),
            run=partial(_thin_levels, store, within, journal),
            kept=False,
        ),
        CalendarJob(
            name="prune",
            trigger=lambda reader, site: every(DAY),
            run=partial(_prune, store, within, journal),
            kept=False,
        ),
    )


# backup ------------------------------------------------------------------------------------


def _backup_trigger(reader: Reader, site: Site) -> Trigger | None:
    """Once a day; where the last one could not be made, an hour later. A server has tools of its own."""
    if not site.settings.store.backup_folder or not site.settings.store.url.startswith("sqlite"):
        return None
    return every(HOUR if gateway_troubles.trouble_since(reader, "backup-failed") is not None else DAY)


def _back_up(store: Store, within: Within, journal: Journal, site: Site, now: datetime, note_run: NoteRun) -> None:
    """A verified backup in the configured folder (another medium, at best), seven kept; on record either way."""
    folder = site.settings.store.backup_folder
    wrong: str | None = None
    try:
        store.backup(str(Path(folder) / f"tank-gateway-{now:%Y%m%dT%H%M%SZ}.db"))
        rotate(folder)
    except (StoreTrouble, OSError) as trouble:
        wrong = str(trouble)

    def keep(unit: UnitOfWork) -> None:
        note_run(unit)
        gateway_life.backed_up(unit, wrong)

    within(keep)
    journal("backup", said=wrong)


# the week's message and the SIM's credit ---------------------------------------------------


def _weekly_trigger(reader: Reader, site: Site) -> Trigger | None:
    digest = site.settings.digest
    return None if digest.day == "off" or not digest.contacts else weekly_at(digest.day, digest.time, site.zone)


def _send_weekly(within: Within, site: Site, now: datetime, note_run: NoteRun) -> None:
    def send(unit: UnitOfWork) -> None:
        note_run(unit)
        due.send_weekly(unit)

    within(send)


def _credit_trigger(modem_ready: Callable[[], bool], reader: Reader, site: Site) -> Trigger | None:
    """After an answer that did not come sooner, until that is told; only a modem that works can ask."""
    balance = site.settings.balance
    if not balance.ussd or not modem_ready():
        return None
    again_soon = 0 < credit_failures(reader) < credit.FAILURES_TOLD
    return every(min(credit.AFTER_A_FAILURE, balance.every) if again_soon else balance.every)


def _ask_credit(modem: Modem, within: Within, site: Site, now: datetime, note_run: NoteRun) -> None:
    """On record as asked before it is, so that a restart does not ask again."""
    within(note_run)
    modem.ask_network(site.settings.balance.ussd)


def _cards_trigger(reader: Reader, site: Site) -> Trigger | None:
    return daily_at(CARDS_AT_H, site.zone) if site.settings.sims else None


def _tell_of_cards(within: Within, site: Site, now: datetime, note_run: NoteRun) -> None:
    def tell(unit: UnitOfWork) -> None:
        note_run(unit)
        tell_of_cards(unit)

    within(tell)


# cold and old ----------------------------------------------------------------------------------


def _tell_cold_season(store: Store, within: Within, site: Site, now: datetime, note_run: NoteRun) -> None:
    """Asked first, as for raw PDUs."""
    with store.read() as reader:
        if not any(cold_seasons(reader, site, now)):
            return
    within(cold.tell_cold_season)


def _thin_levels(store: Store, within: Within, journal: Journal, site: Site, now: datetime, note_run: NoteRun) -> None:
    with store.read() as reader:
        if not site.gauges or levels_to_thin(reader, now) is None:
            return
    journal("thinned", levels=within(thin_levels))


def _prune(store: Store, within: Within, journal: Journal, site: Site, now: datetime, note_run: NoteRun) -> None:
    """Asked first: where nothing is old enough nothing is written. By a clock that was set years ahead all of it would be: it must have
    agreed with the network lately."""
    before = now - RAW_PDUS_KEPT
    with store.read() as reader:
        confirmed = reader.state(ClockConfirmed)
        if confirmed is None or abs(now - confirmed.at) > CONFIRMED_WITHIN or not reader.raw_heard_before(before):
            return
    journal("pruned", raw_pdus=within(lambda unit: unit.tx.prune_raw(before)))


# files for other programs ------------------------------------------------------------------


def _page_file(settings: Settings) -> Path | None:
    return Path(settings.page.folder) / "index.html" if settings.page.folder else None


def _page(reader: Reader, site: Site, now: datetime) -> str:
    # Imported here: 1.3 MB, which a gateway that writes no page does without.
    from gateway.page import make_page

    return make_page(reader, site, now, good_until=now + PAGE_EVERY + PAGE_SLACK)


def _write_page(target: Path, html: str) -> None:
    from gateway.page import write_page  # as above

    write_page(str(target), html, for_all=True)


def _metrics_file(settings: Settings) -> Path | None:
    return Path(settings.metrics.file) if settings.metrics.file else None


def _metrics(reader: Reader, site: Site, now: datetime) -> str:
    # only where they are wanted: half a megabyte that most boards do without
    from gateway.feeds.metrics import StoreDisk, metrics_text

    room, size = room_of_store(site.settings), size_of_store(site.settings)
    disk = StoreDisk(size=size, free=room[0]) if room is not None and size is not None else None
    return metrics_text(reader, site, now, disk)


def _write_metrics(target: Path, text: str) -> None:
    """Raises OSError also where another file stands there: a slip in the configuration must not cost the record."""
    from gateway.feeds.openmetrics import is_metrics  # as above

    if target.exists() and not is_metrics(target):
        raise FileExistsError(errno.EEXIST, "another file is there, which is left as it is", str(target))
    write_whole(target, text.encode(), for_all=True)


PAGE = FreshFile(
    name="page",
    target=_page_file,
    mark=lambda reader: reader.last_id("events"),
    make=_page,
    write=_write_page,
    rest=timedelta(seconds=5),  # on a small board one takes a good part of a second
    at_least=PAGE_EVERY,
)
METRICS = FreshFile(
    name="metrics",
    target=_metrics_file,
    mark=record_mark,
    make=_metrics,
    write=_write_metrics,
    rest=timedelta(seconds=2),
    at_least=HOUR,
)

# disk --------------------------------------------------------------------------------------


def _look_at_disk(store: Store, within: Within, site: Site, now: datetime, note_run: NoteRun) -> None:
    """Told while it can still be stored that there is little room."""
    room = room_of_store(site.settings)
    if room is None:
        return
    with store.read() as reader:
        flagged = gateway_troubles.trouble_since(reader, "disk-low") is not None
    if flagged or gateway_troubles.disk_wrong(*room):
        within(lambda unit: gateway_health.watch_disk(unit, *room))


def store_folder(settings: Settings) -> Path | None:
    """Where the store's file lies; None where it is a server's."""
    url = settings.store.url
    return Path(url.removeprefix("sqlite:///")).parent if url.startswith("sqlite:///") else None


def size_of_store(settings: Settings) -> int | None:
    """Bytes of the store's files (SQLite's log of what is not yet in its place is one of them); None where that is not ours to know."""
    file = sqlite_file(settings.store.url)
    if file is None:
        return None
    files = (file, file.with_name(f"{file.name}-wal"))
    return sum(part.stat().st_size for part in files if part.exists())


def room_of_store(settings: Settings) -> tuple[int, int] | None:
    """(free, total) bytes of the store's disk; None where that is not ours to know."""
    folder = store_folder(settings)
    try:
        usage = shutil.disk_usage(folder) if folder is not None else None
    except OSError:
        return None
    return None if usage is None else (usage.free, usage.total)
