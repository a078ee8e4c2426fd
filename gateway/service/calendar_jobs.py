"""What the daemon does beside its main job, each by the calendar: the day's backup, a fresh page in its folder, a look at the disk, the
SIM's credit, the week's message, raw PDUs that are too old.

`calendar_jobs` is the table of them; when each is due follows from its trigger there.
"""

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from gateway.errors import StoreTrouble
from gateway.facts.states import ClockConfirmed
from gateway.handlers import cold, credit, due, gateway_health, gateway_life
from gateway.handlers.cards import tell_of_cards
from gateway.handlers.thin_levels import levels_to_thin, thin_levels
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.page import make_page, write_page
from gateway.ports import Modem, Reader, Store
from gateway.service.error_boundary import Within
from gateway.service.job_calendar import CalendarJob, NoteRun, Trigger, daily_at, every, weekly_at
from gateway.service.journal import Journal
from gateway.settings.models import Settings
from gateway.site import Site
from gateway.status import troubles
from gateway.status.cold_season import cold_seasons
from gateway.status.credit import credit_failures
from gateway.storage.backup import rotate

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
RAW_PDUS_KEPT = timedelta(days=400)
"""A year and what it takes to look into it; texts and events stay for ever."""
CARDS_AT_H = 10
CONFIRMED_WITHIN = timedelta(days=100)
PAGE_REST = timedelta(seconds=5)
"""A page is not written again sooner, whatever changed: on a small board one takes a good part of a second."""


def calendar_jobs(
    store: Store,
    modem: Modem,
    modem_ready: Callable[[], bool],
    within: Within,
    journal: Journal,
    disk_every: timedelta = 10 * MINUTE,
) -> tuple[CalendarJob, ...]:
    """The table: name, when, what."""
    page_in_folder = PageInFolder(store, journal)
    return (
        CalendarJob(name="backup", trigger=_backup_trigger, run=partial(_back_up, store, within, journal)),
        CalendarJob(name="weekly", trigger=_weekly_trigger, run=partial(_send_weekly, within)),
        CalendarJob(
            name="credit", trigger=partial(_credit_trigger, modem_ready), run=partial(_ask_credit, modem, within)
        ),
        CalendarJob(
            name="page", trigger=page_in_folder.trigger, run=page_in_folder.refresh, kept=False, with_unset_clock=True
        ),
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
    return every(HOUR if troubles.trouble_since(reader, "backup-failed") is not None else DAY)


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


# page --------------------------------------------------------------------------------------


class PageInFolder:
    """Writes `index.html` into the configured folder: soon after something happened, and at least hourly. A burst costs one page."""

    def __init__(self, store: Store, journal: Journal) -> None:
        self._store, self._journal = store, journal
        self._newest_shown, self._failed = -1, False

    def trigger(self, reader: Reader, site: Site) -> Trigger | None:
        """A folder that cannot be written is left alone for a minute."""
        if not site.settings.page.folder:
            return None
        if self._failed:
            return every(MINUTE)
        return every(HOUR if reader.last_id("events") == self._newest_shown else PAGE_REST)

    def refresh(self, site: Site, now: datetime, note_run: NoteRun) -> None:
        """Writes it; a folder that cannot be written is no reason to stop."""
        self._failed = True
        with self._store.read() as reader:
            newest, html = reader.last_id("events"), make_page(reader, site, now)
        try:
            # not within the store's `read`, which would take what the folder says for the store's trouble
            write_page(str(Path(site.settings.page.folder) / "index.html"), html, for_all=True)
        except OSError as trouble:
            self._journal("page-not-written", said=trouble)
            return
        self._newest_shown, self._failed = newest, False


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


# disk --------------------------------------------------------------------------------------


def _look_at_disk(store: Store, within: Within, site: Site, now: datetime, note_run: NoteRun) -> None:
    """Told while it can still be stored that there is little room."""
    room = room_of_store(site.settings)
    if room is None:
        return
    with store.read() as reader:
        flagged = troubles.trouble_since(reader, "disk-low") is not None
    if flagged or troubles.disk_wrong(*room):
        within(lambda unit: gateway_health.watch_disk(unit, *room))


def store_folder(settings: Settings) -> Path | None:
    """Where the store's file lies; None where it is a server's."""
    url = settings.store.url
    return Path(url.removeprefix("sqlite:///")).parent if url.startswith("sqlite:///") else None


def room_of_store(settings: Settings) -> tuple[int, int] | None:
    """(free, total) bytes of the store's disk; None where that is not ours to know."""
    folder = store_folder(settings)
    try:
        usage = shutil.disk_usage(folder) if folder is not None else None
    except OSError:
        return None
    return None if usage is None else (usage.free, usage.total)
