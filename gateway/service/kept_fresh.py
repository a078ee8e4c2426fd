"""A file that `serve` keeps fresh for other programs: written soon after something changed, and at least so often as it says.

A burst costs one.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from gateway.ports import Reader, Store
from gateway.service.job_calendar import CalendarJob, NoteRun, Trigger, every
from gateway.service.journal import Journal
from gateway.settings.models import Settings
from gateway.site import Site

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class FreshFile:
    """`target`: where, None: nowhere; `mark`: another value once what it shows has changed; `rest`: not written again sooner, whatever
    changed, for what it takes on a small board; `at_least`: written again after so long, if nothing changed."""

    name: str
    target: Callable[[Settings], Path | None]
    mark: Callable[[Reader], object]
    make: Callable[[Reader, Site, datetime], str]
    write: Callable[[Path, str], None]
    rest: timedelta
    at_least: timedelta


class KeptFresh:
    """One such file."""

    def __init__(self, file: FreshFile, store: Store, journal: Journal) -> None:
        self._file, self._store, self._journal = file, store, journal
        self._shown: object = None
        self._failed = False

    def job(self) -> CalendarJob:
        """It in the calendar."""
        return CalendarJob(
            name=self._file.name, trigger=self._trigger, run=self._refresh, kept=False, with_unset_clock=True
        )

    def _trigger(self, reader: Reader, site: Site) -> Trigger | None:
        """One that cannot be written is left alone for a minute."""
        if self._file.target(site.settings) is None:
            return None
        if self._failed:
            return every(MINUTE)
        return every(self._file.at_least if self._file.mark(reader) == self._shown else self._file.rest)

    def _refresh(self, site: Site, now: datetime, note_run: NoteRun) -> None:
        """Writes it; a place that cannot be written is no reason to stop."""
        target = self._file.target(site.settings)
        if target is None:
            return
        self._failed = True
        with self._store.read() as reader:
            mark, text = self._file.mark(reader), self._file.make(reader, site, now)
        try:
            # not within the store's `read`, which would take what the folder says for the store's trouble
            self._file.write(target, text)
        except OSError as trouble:
            self._journal.tell(self._file.name, f"the {self._file.name} file was not written: {trouble}")
            return
        self._shown, self._failed = mark, False
