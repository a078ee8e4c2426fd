"""When a job of the calendar is due next, and that it is done once then; the jobs stand in `calendar_jobs.py`. APScheduler's one door.

No scheduler runs. A trigger is asked as a pure function, (previous run, now) → next run, each time the loop comes round, and the loop's
own wait ends when the first of them is due. When a job ran last is kept in the store with what it did, so that a
restart neither does it twice nor leaves it out. Of a job that may well be done at each start it is remembered in memory alone:
at rest nothing is written.
Source: APScheduler 3 user guide, CronTrigger (at an hour that summer time skips it fires when that hour would have been) and IntervalTrigger.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from functools import lru_cache, partial
from typing import Protocol
from zoneinfo import ZoneInfo

from apscheduler.triggers.cron import CronTrigger
from apscheduler.triggers.interval import IntervalTrigger

from gateway.facts.states.gateway_itself import CalendarRun
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Reader, Store
from gateway.site import Site

INSTANT = timedelta(microseconds=1)


class Trigger(Protocol):
    """What we ask of the library's triggers."""

    def get_next_fire_time(self, previous_fire_time: datetime | None, now: datetime) -> datetime | None: ...


NoteRun = Callable[[UnitOfWork], None]
"""Keeps, in the transaction of what the job does, that it ran."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarJob:
    """`trigger`: when, by the configuration and by what is on record; None: not wanted, or not now. `kept`: its last run is kept in the
    store. `with_unset_clock`: done also while our clock was never set, for it is no matter of the date."""

    name: str
    trigger: Callable[[Reader, Site], Trigger | None]
    run: Callable[[Site, datetime, NoteRun], None]
    kept: bool = True
    with_unset_clock: bool = False


@lru_cache(maxsize=16)
def every(interval: timedelta) -> Trigger:
    """So long after the last time; at once where there was none."""
    trigger: Trigger = IntervalTrigger(seconds=interval.total_seconds(), timezone=UTC)
    return trigger


@lru_cache(maxsize=16)
def weekly_at(day: str, hour_and_minute: str, zone: ZoneInfo) -> Trigger:
    """On that day of the week (`sunday`) at that local time (`18:00`)."""
    hour, minute = hour_and_minute.split(":")
    trigger: Trigger = CronTrigger(day_of_week=day[:3], hour=int(hour), minute=int(minute), timezone=zone)
    return trigger


@lru_cache(maxsize=16)
def daily_at(hour: int, zone: ZoneInfo) -> Trigger:
    """Each day at that local hour."""
    trigger: Trigger = CronTrigger(hour=hour, timezone=zone)
    return trigger


def next_run(trigger: Trigger, previous: datetime | None, now: datetime) -> datetime:
    """When it is due; in the past or now: at once.

    What was due at an hour while the gateway was off is done once, that local day; on a later day only the next one counts.
    """
    if previous is not None and _is_of_another_clock(trigger, previous, now):
        previous = None
    if isinstance(trigger, CronTrigger):
        today = now.astimezone(trigger.timezone).date()
        before_today = datetime.combine(today, time(0), tzinfo=trigger.timezone).astimezone(UTC) - INSTANT
        previous = before_today if previous is None else max(previous, before_today)
    if previous is None:
        return now
    return _following(trigger, previous, now)


def _is_of_another_clock(trigger: Trigger, previous: datetime, now: datetime) -> bool:
    """It is further ahead than one time follows the other: our clock was years ahead then, or is behind now. One that is a little ahead was
    done before somebody put the clock back an hour, and is not done again."""
    return previous > now and _following(trigger, previous, previous) - previous < previous - now


def _following(trigger: Trigger, previous: datetime, now: datetime) -> datetime:
    # Never asked with a `now` that is `previous` itself: where that hour comes twice the library does not know the two for one and
    # answers it again and again.
    following = trigger.get_next_fire_time(previous, max(previous + INSTANT, now))
    if following is None:  # only a trigger with an end date says so, and ours have none
        raise ValueError(f"{trigger!r} has no time after {previous}")
    if following.utcoffset() != following.replace(fold=0).utcoffset():
        # The hour comes a second time as summer time ends. The library fires at both, and the household would be told twice.
        return _following(trigger, following.astimezone(UTC), now)
    return following.astimezone(UTC)


class Calendar:
    """The jobs of one daemon. `guarded` does a piece of work through the error boundary: what goes wrong in one job costs no other."""

    def __init__(
        self, jobs: Sequence[CalendarJob], store: Store, guarded: Callable[[object, Callable[[], bool]], bool | None]
    ) -> None:
        self._jobs, self._store, self._guarded = jobs, store, guarded
        self._last_runs: dict[str, datetime] = {}
        self.did_something = False
        """Whether the last `run_due` did: then there may be a message more in the outbox."""

    def run_due(self, site: Site, now: datetime, *, clock_is_set: bool) -> datetime | None:
        """Does what is due; when something is due next. What went wrong comes again by the error boundary's own time."""
        jobs = [job for job in self._jobs if clock_is_set or job.with_unset_clock]
        due_jobs = [job for job, due in self._next_runs(jobs, site, now) if due <= now]
        self.did_something = bool(due_jobs)
        failed = [job for job in due_jobs if not self._guarded(job.name, partial(self._run, job, site, now))]
        coming = self._next_runs([job for job in jobs if job not in failed], site, now)
        return min((due for _, due in coming), default=None)

    def _next_runs(self, jobs: Sequence[CalendarJob], site: Site, now: datetime) -> list[tuple[CalendarJob, datetime]]:
        with self._store.read() as reader:
            triggers = [(job, job.trigger(reader, site)) for job in jobs]
            return [
                (job, next_run(trigger, self._last_run(reader, job), now))
                for job, trigger in triggers
                if trigger is not None
            ]

    def _last_run(self, reader: Reader, job: CalendarJob) -> datetime | None:
        if not job.kept:
            return self._last_runs.get(job.name)
        kept = reader.state(CalendarRun, job.name)
        return None if kept is None else kept.at

    def _run(self, job: CalendarJob, site: Site, now: datetime) -> bool:
        self._last_runs[job.name] = now
        job.run(site, now, lambda unit: unit.tx.set_state(CalendarRun(at=unit.now), job.name))
        return True
