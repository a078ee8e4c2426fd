"""Years of a small household: nothing grows that should not, nothing is left undone, and each day of the calendar comes once."""

import itertools
from contextlib import closing
from datetime import datetime, timedelta

import pytest

from gateway.rehearsal.lived_through import BEGINS
from gateway.service.calendar_jobs import DAY, RAW_PDUS_KEPT
from gateway.storage import open_store
from tests.rehearsal.years import DAYS_A_YEAR, live

MB = 1_000_000
GROWS_A_YEAR_AT_MOST = 2 * MB
"""Of memory, once the first year has filled what is kept at hand: half of it is the simulated household's own record of the truth."""
TROUBLES = (
    "odd",
    "store-trouble",
    "modem-lost",
    "backup-failed",
    "outbox-waits",
    "loop-stopped",
    "given-up",
    "clock-untrusted",
)


class Years:
    """What was lived, the samples, and what the store holds at the end."""

    def __init__(self, folder, days, every):
        self.lived, self.samples = live(folder, days, every, stories=("pump-stops",))
        self.zone, self.folder = self.lived.site.zone, folder
        with closing(open_store(self.lived.store_url, "Quandong Ridge")) as store, store.read() as reader:
            self.events, self.texts, self.outbox = reader.events(), reader.texts(), reader.outbox()
            self.older_raw = reader.raw_heard_before(self.lived.until - RAW_PDUS_KEPT - 2 * DAY)
            self.raw = reader.raw_heard_before(self.lived.until)

    @property
    def left(self):
        """What left."""
        return [text for text in self.texts if text.way == "out"]


@pytest.fixture(
    scope="module",
    params=[
        pytest.param((182.0, 45.0), id="half a year"),
        pytest.param((10 * DAYS_A_YEAR, DAYS_A_YEAR - 0.5), id="ten years", marks=pytest.mark.soak),
    ],
)
def years(request, tmp_path_factory):
    """Half a year in the suite, ten in the soak."""
    return Years(tmp_path_factory.mktemp("years"), *request.param)


def test_nothing_grows_but_the_record(years):
    """Handles and threads are what they were; memory once it is warm; of backups seven are kept; the journal has a few lines a day."""
    first, last = years.samples[0], years.samples[-1]
    assert len(years.samples) >= 4
    assert {(sample.handles, sample.threads) for sample in years.samples} == {(first.handles, first.threads)}
    lasted = (last.days - first.days) / DAYS_A_YEAR
    assert last.resident - first.resident <= 8 * MB + lasted * GROWS_A_YEAR_AT_MOST
    assert {sample.backups for sample in years.samples} == {7}
    for before, after in itertools.pairwise(years.samples):
        assert after.journal_lines - before.journal_lines <= 12 * (after.days - before.days)


def test_the_record_grows_by_what_comes(years):
    """A few kilobytes a text, in the last year as in the first."""
    texts = len(years.texts)
    (store,) = years.folder.glob("gateway.db")
    assert store.stat().st_size <= 3000 * texts + MB / 2


def test_raw_octets_go_and_texts_stay(years):
    """Pruning prunes: none is older than four hundred days."""
    assert years.raw and not years.older_raw
    assert min(text.at for text in years.texts) < years.lived.start + 2 * DAY


def test_every_message_arrived(years):
    """References of messages and of their parts wrap, many times in ten years: each report still finds its message."""
    assert not years.outbox
    overtaken = {event.detail["message"] for event in years.events if event.kind == "cancelled"}
    assert {text.state for text in years.left if text.id not in overtaken} <= {"delivered", "joined"}
    assert len(overtaken) <= len(years.left) / 200
    parts = sum(text.segments for text in years.left)
    if years.samples[-1].days > 5 * DAYS_A_YEAR:
        assert parts > 3 * 256 and sum(text.segments > 1 for text in years.left) > 256
    assert parts > 50


def test_the_weeks_message_comes_each_sunday_once(years):
    """At 18:00 on the household's clocks, through every change of them, leap day and year's end."""
    weekly = [text.at.astimezone(years.zone) for text in years.left if "hese seven days" in text.text]
    sundays = []
    day = BEGINS.date()
    while datetime(day.year, day.month, day.day, 18, tzinfo=years.zone) < years.lived.until:
        if day.isoweekday() == 7:
            sundays.append(day)
        day += timedelta(days=1)
    assert [at.date() for at in weekly] == sundays
    assert {(at.hour, at.minute) for at in weekly} == {(18, 0)}


def test_no_trouble_of_its_own(years):
    """Nothing went wrong in the gateway itself, and a backup was made each day."""
    assert not [event for event in years.events if event.kind in TROUBLES]
    made = [event for event in years.events if event.kind == "backup-made"]
    days = (years.lived.until - years.lived.start) / DAY
    assert abs(len(made) - days) <= 2
