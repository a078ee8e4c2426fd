"""What a program without the calendar did last is known to the calendar: on the day of the upgrade nothing is done twice."""

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.facts.states.gateway_itself import CalendarRun
from gateway.service.job_calendar import every, next_run, weekly_at
from gateway.storage import open_store
from tests.storage.conftest import SITE
from tests.storage.test_migrations import SECOND

ANSWERED = datetime(2026, 11, 24, 23, 29, 40, tzinfo=UTC)
"""When the last answer about the credit came to the second version."""


@pytest.mark.parametrize("zone", ["Pacific/Pago_Pago", "Australia/Sydney", "Pacific/Kiritimati"])
@pytest.mark.parametrize("hour", ["00:00", "18:00", "23:59"])
def test_what_was_done_before_the_upgrade_is_not_done_again_that_day(tmp_path, zone, hour):
    """The week's report went out that Sunday and comes the next one; the credit is asked a while after its last answer."""
    shutil.copy(SECOND, tmp_path / "gateway.db")
    store, local = open_store(f"sqlite:///{tmp_path}/gateway.db", SITE), ZoneInfo(zone)
    with store.read() as reader:
        weekly, credit = (reader.state(CalendarRun, job) for job in ("weekly", "credit"))
    store.close()
    sent = datetime.combine(date(2026, 11, 22), time.fromisoformat(hour), tzinfo=local).astimezone(UTC)
    for now in (sent, sent + timedelta(seconds=59), sent + timedelta(days=3)):
        assert next_run(weekly_at("sunday", hour, local), weekly and weekly.at, now) == sent + timedelta(days=7)
    days = timedelta(days=2)
    assert next_run(every(days), credit and credit.at, ANSWERED + timedelta(hours=1)) == ANSWERED + days


@pytest.mark.parametrize("answer", [None, "no JSON", "5"])
def test_a_credit_without_an_answer_is_asked_at_the_next_start(tmp_path, answer):
    """When it was to be asked next does not tell when it was asked last."""
    shutil.copy(SECOND, tmp_path / "gateway.db")
    with closing(sqlite3.connect(tmp_path / "gateway.db", isolation_level=None)) as connection:
        connection.execute("DELETE FROM marks WHERE key = 'credit:last'")
        if answer is not None:
            connection.execute("INSERT INTO marks VALUES (?, 'credit:last', ?)", (SITE, answer))
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", SITE)
    with store.read() as reader:
        assert reader.state(CalendarRun, "credit") is None and reader.state(CalendarRun, "weekly") is not None
    store.close()
