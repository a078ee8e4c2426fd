"""What is due by the calendar is done once for each due time while days and years go by, and the loop rests in between."""

import itertools
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from gateway.handlers.unit_of_work import UnitOfWork
from gateway.service.calendar_jobs import calendar_jobs
from gateway.service.job_calendar import Calendar, every, next_run, weekly_at
from gateway.site import compile_site
from gateway.storage import open_store
from tests.fakes.fake_clock import START, FakeClock
from tests.fakes.fake_modem import FakeModem
from tests.faults.board import UNLIMITED, Board
from tests.household import RIDGE, WREN

HOUR, DAY, WEEK, YEAR = timedelta(hours=1), timedelta(days=1), timedelta(days=7), timedelta(days=365)
A_MICROSECOND = timedelta(microseconds=1)
WAKE_UPS_AN_HOUR = 70
"""One a minute, at which the loop looks round however the clock was set, and few for what is due in between."""
CODE, ANSWER = "*100#", "Credit 20.00"
JOBS = f"""
[digest]
day = "sunday"
time = "18:00"
contacts = ["wren"]
[balance]
ussd = "{CODE}"
pattern = 'Credit (?P<amount>[\\d.,]+)'
every = "2d"
low = 5.0
"""
SYDNEY = ZoneInfo("Australia/Sydney")
SUNDAY = datetime(2026, 11, 29, 18, 0, tzinfo=SYDNEY).astimezone(UTC)


def household(tmp_path, *, clock=None, rest=JOBS + UNLIMITED):
    """A board that makes backups, sends a weekly message and asks the credit, on a clock on which each look is later than the last."""
    folder = tmp_path / "backups"
    folder.mkdir()
    made = Board(tmp_path, clock or FakeClock(a_look_takes=A_MICROSECOND), rest=rest)
    config = made.config.read_text().replace("[store]\n", f'[store]\nbackup_folder = "{folder}"\n')
    made.config.write_text(config)
    made.reload_settings()
    made.modem.credit[CODE] = ANSWER
    return made


@pytest.fixture
def home(tmp_path):
    """At work since a Wednesday."""
    made = household(tmp_path)
    made.start()
    yield made
    made.cut()


def done(home):
    """How often each job was done: (backups, weekly messages, questions for the credit)."""
    weekly = [text for text in home.arrived(WREN) if "hese seven days" in text]
    return len(home.events("backup-made")), len(weekly), home.modem.calls.count("ask_network")


def local(*moment):
    """A time in Sydney."""
    return datetime(*moment, tzinfo=SYDNEY)


# the pure function -------------------------------------------------------------------------

SUNDAYS = weekly_at("sunday", "18:00", SYDNEY)


@pytest.mark.parametrize(
    ("trigger", "previous", "now", "expected"),
    [
        pytest.param(every(DAY), None, START, START, id="never done: at once"),
        pytest.param(every(DAY), START, START + HOUR, START + DAY, id="a day after the last"),
        pytest.param(every(DAY), START, START + 90 * DAY, START + DAY, id="late: in the past, so at once"),
        pytest.param(every(DAY), START + HOUR, START, START + HOUR + DAY, id="clock put back an hour: not again"),
        pytest.param(every(DAY), START + 2 * DAY, START, START, id="the last is of another clock: at once"),
        pytest.param(SUNDAYS, None, SUNDAY - HOUR, SUNDAY, id="never sent, before the hour"),
        pytest.param(SUNDAYS, None, SUNDAY, SUNDAY, id="never sent, in its very moment"),
        pytest.param(SUNDAYS, None, SUNDAY + 3 * HOUR, SUNDAY, id="down over the hour: that day"),
        pytest.param(SUNDAYS, SUNDAY - WEEK, SUNDAY + 7 * HOUR, SUNDAY + WEEK, id="down over the day: the next"),
        pytest.param(SUNDAYS, SUNDAY, SUNDAY, SUNDAY + WEEK, id="sent in this very moment"),
        pytest.param(SUNDAYS, SUNDAY + 3 * HOUR, SUNDAY + 4 * HOUR, SUNDAY + WEEK, id="sent late that day"),
        pytest.param(SUNDAYS, SUNDAY, SUNDAY - HOUR, SUNDAY + WEEK, id="clock put back over the hour: not again"),
        pytest.param(SUNDAYS, SUNDAY + 10 * YEAR, SUNDAY - HOUR, SUNDAY, id="sent while ten years ahead"),
        pytest.param(SUNDAYS, SUNDAY, local(2036, 11, 26, 9), local(2036, 11, 30, 18), id="ten years ahead: the next"),
        pytest.param(
            weekly_at("sunday", "00:00", SYDNEY),
            None,
            local(2026, 11, 29, 9),
            local(2026, 11, 29),
            id="the day's first moment",
        ),
        pytest.param(
            weekly_at("sunday", "02:30", SYDNEY),
            None,
            local(2026, 10, 4, 0, 5),
            local(2026, 10, 4, 3, 30),
            id="an hour that summer time skips",
        ),
        pytest.param(
            weekly_at("sunday", "02:30", SYDNEY),
            local(2026, 4, 5, 2, 30),
            local(2026, 4, 5, 2, 31),
            local(2026, 4, 12, 2, 30),
            id="an hour that comes twice",
        ),
    ],
)
def test_when_a_job_is_due(trigger, previous, now, expected):
    """(previous run, now) → next run."""
    assert next_run(trigger, previous, now) == expected


# years -------------------------------------------------------------------------------------


def test_three_years_go_by_from_due_time_to_due_time(tmp_path):
    """Each job once for each of its times, on the real store; who waits for the next due time wakes once for each, and only then."""
    home = household(tmp_path)
    site, modem = compile_site(home.settings), FakeModem()
    store = open_store(home.settings.store.url, home.settings.site.name)
    store.backup = lambda file: Path(file).touch()  # a thousand real ones are another test's matter, and take a minute

    def within(work):
        with store.write() as tx:
            return work(UnitOfWork(tx=tx, site=site, now=home.clock.now()))

    jobs = [
        job
        for job in calendar_jobs(store, modem, lambda: True, within, lambda *said, **fields: None)
        if job.kept  # a look at the disk each ten minutes is no matter of years
    ]
    calendar = Calendar(jobs, store, lambda item, work: work())
    wake_ups, end = 0, START + 3 * YEAR
    while home.clock.now() < end:
        due = calendar.run_due(site, home.clock.now(), clock_is_set=True)
        home.clock.advance(max(due - home.clock.now(), timedelta(0)))
        wake_ups += 1
    with store.read() as reader:
        backups = reader.events(kinds=["backup-made"])
        weekly = [message.at.astimezone(SYDNEY) for message in reader.outbox() if message.contact == "wren"]
    store.close()
    assert len(backups) == 3 * 365
    assert len(weekly) == 156 and {(at.isoweekday(), at.hour, at.minute) for at in weekly} == {(7, 18, 0)}
    assert modem.calls.count("ask_network") == 548
    assert wake_ups <= len(backups) + len(weekly) + 548 + 1


def test_a_backup_a_day_is_made_by_itself_and_the_loop_rests_between(home):
    """On a clock on which each look is later than the one before, as on every real one: that kept any from being made."""
    for hour in range(1, 26):
        home.pass_time(HOUR)
        assert home.wake_ups <= hour * WAKE_UPS_AN_HOUR
    made = home.events("backup-made")
    assert len(made) == 2
    assert {round((late.at - early.at) / DAY, 2) for early, late in itertools.pairwise(made)} == {1.0}


def test_the_weeks_message_leaves_in_the_round_that_made_it(home):
    """Seen where nothing else was due: it lay in the outbox until the next look hours later, by then in the night's quiet."""
    home.clock.advance(SUNDAY - home.clock.now())
    home.daemon.step(0.0)
    assert [job.text for job in home.modem.jobs if "hese seven days" in job.text]


@pytest.mark.parametrize("restarts", [False, True])
def test_raw_pdus_go_after_four_hundred_days(tmp_path, caplog, restarts):
    """A text each ninety days for three years: octets older than that are in neither file nor log of the store, the others are there;
    the texts stay. One line for each run that erased something."""
    caplog.set_level("DEBUG", "gateway")
    home = Board(tmp_path, FakeClock(a_look_takes=A_MICROSECOND), rest=UNLIMITED)
    home.start()
    octets = []
    for number in range(13):
        octets += home.hears(RIDGE, f"STATION WELL {number:04}")
        if restarts:
            home.cut()
            home.start()
        home.pass_time(90 * DAY, at_least_s=432_000)
        old = max(0, number - 3)
        on_disk = b"".join(file.read_bytes() for file in tmp_path.glob("gateway.db*"))
        assert [pdu.encode() in on_disk for pdu in octets] == [False] * old + [True] * (number + 1 - old)
    assert [text.text for text in home.texts("in")] == [f"STATION WELL {number:04}" for number in range(13)]
    assert caplog.text.count("action=pruned raw_pdus=1") == caplog.text.count("action=pruned") == 9
    home.cut()


def test_row_85_a_clock_set_years_ahead_erases_no_raw_pdu(tmp_path):
    """By mistake, with the gateway at work or off: what is a day old stays, also once texts come; set right, all is as it was."""
    home = Board(tmp_path, FakeClock(a_look_takes=A_MICROSECOND), rest=UNLIMITED)
    home.start()
    (octets,) = home.hears(RIDGE, "STATION WELL 0001")
    true_now = home.clock.now
    for _ in range(2):
        home.clock.step(5 * YEAR)
        home.modem.now = lambda: (true_now() - 5 * YEAR).replace(microsecond=0)
        home.pass_time(2 * DAY, at_least_s=43_200)
        home.hears(RIDGE, "STATION WELL 0002")
        home.pass_time(2 * DAY, at_least_s=43_200)
        home.cut()
        home.start()
        home.pass_time(2 * DAY, at_least_s=43_200)
        assert octets.encode() in b"".join(file.read_bytes() for file in tmp_path.glob("gateway.db*"))
        home.clock.step(-5 * YEAR)
        home.pass_time(2 * DAY, at_least_s=43_200)
    home.cut()


# clocks ------------------------------------------------------------------------------------


def test_row_31_a_clock_put_back_an_hour_does_nothing_twice(home):
    """Just after each job was done."""
    home.clock.set(SUNDAY - timedelta(minutes=1))
    home.pass_time(timedelta(minutes=2))
    before = done(home)
    assert before[1] == 1
    home.clock.step(-HOUR)
    home.pass_time(3 * HOUR)
    assert done(home) == before


def test_row_31_a_clock_put_ten_years_ahead_and_right_again_makes_no_burst(home):
    """Each job at most once for either step, and then at its times again."""
    home.pass_time(HOUR)
    assert done(home) == (1, 0, 1)
    home.clock.step(10 * YEAR)
    home.pass_time(12 * HOUR, at_least_s=300)
    assert done(home) == (2, 0, 2)
    home.clock.step(-10 * YEAR)
    home.pass_time(12 * HOUR, at_least_s=300)
    assert done(home) == (3, 0, 3)
    home.pass_time(7 * DAY - HOUR, at_least_s=1800)
    assert done(home) == (10, 1, 6)


def test_row_30_a_clock_that_was_never_set_does_no_calendar_job(tmp_path):
    """1970 has Sundays too. Once the clock is set all is done that is due."""
    home = household(tmp_path, clock=FakeClock(datetime(1970, 1, 3, tzinfo=UTC), a_look_takes=A_MICROSECOND))
    home.start()
    home.pass_time(3 * DAY, at_least_s=1800)
    assert done(home) == (0, 0, 0)
    home.clock.set(SUNDAY - HOUR)
    home.pass_time(2 * HOUR, at_least_s=60)
    assert done(home) == (1, 1, 1)
    home.cut()


def test_row_46_down_over_the_hour_each_job_is_done_once_at_the_next_start(home):
    """That Sunday evening; at a further start nothing again."""
    home.clock.set(SUNDAY - HOUR)
    home.pass_time(timedelta(minutes=2))
    backups, weekly, questions = done(home)
    home.cut()
    home.clock.advance(3 * HOUR)
    for _ in range(2):
        home.start()
        home.pass_time(timedelta(minutes=2))
        assert done(home) == (backups, weekly + 1, questions)
        home.cut()
    home.clock.advance(3 * DAY)
    for _ in range(2):
        home.start()
        home.pass_time(timedelta(minutes=2))
        assert done(home) == (backups + 1, weekly + 1, questions + 1)
        home.cut()
    home.start()


# failures ----------------------------------------------------------------------------------


def test_a_backup_that_cannot_be_made_is_tried_each_hour_and_told_once(home):
    """Its folder is gone; once it is there again one is made within the hour, also after a restart."""
    folder = home.folder / "backups"
    home.pass_time(DAY - HOUR, at_least_s=600)
    made = len(home.events("backup-made"))
    for file in folder.iterdir():
        file.unlink()
    folder.rmdir()
    folder.write_text("a file stands where the folder should be")
    home.pass_time(4 * HOUR)
    assert len(home.events("backup-failed")) == 1 and len(home.events("backup-made")) == made
    home.cut()
    folder.unlink()
    folder.mkdir()
    home.start()
    home.pass_time(HOUR)
    assert len(home.events("backup-made")) == made + 1 and len(home.events("backup-back")) == 1


def test_no_answer_is_asked_again_in_an_hour_and_then_as_usual(home):
    """Three in a row are enough; that they came to nothing is told by then."""
    home.modem.credit.clear()
    home.pass_time(2 * DAY + timedelta(minutes=1), at_least_s=600)
    assert home.modem.calls.count("ask_network") == 2
    home.pass_time(2 * HOUR)
    assert home.modem.calls.count("ask_network") == 4 and len(home.events("credit-unread")) == 1
    home.pass_time(2 * DAY - HOUR, at_least_s=600)
    assert home.modem.calls.count("ask_network") == 4
    home.pass_time(HOUR)
    assert home.modem.calls.count("ask_network") == 5


def test_only_a_modem_that_works_is_asked(home):
    """While it is away nothing is asked, and the question is not taken for done."""
    home.modem.lose()
    home.pass_time(3 * DAY, at_least_s=1800)
    assert home.modem.calls.count("ask_network") == 1
    home.modem.back()
    home.settle()
    assert home.modem.calls.count("ask_network") == 2


def test_without_a_code_a_folder_or_a_day_nothing_is_done(tmp_path):
    """As the configuration is where nobody wrote any of it."""
    home = Board(tmp_path)
    home.start()
    home.pass_time(8 * DAY, at_least_s=1800)
    assert done(home) == (0, 0, 0)
    home.cut()


def test_a_mistake_in_one_job_costs_no_other(home, monkeypatch):
    """It is on record, tried again each five seconds, and the loop comes round no more often than that."""
    monkeypatch.setattr("gateway.handlers.due.send_weekly", partial(_raise, ZeroDivisionError("invented")))
    home.clock.set(SUNDAY - timedelta(minutes=1))
    home.pass_time(timedelta(seconds=50))
    backups, _, questions = done(home)
    home.pass_time(timedelta(minutes=6))
    assert len(home.events("odd")) == 1 and home.wake_ups <= 6 * 60 / 5 + 10
    home.clock.advance(2 * DAY)
    home.settle()
    assert done(home) == (backups + 1, 0, questions + 1)


def _raise(mistake, *_):
    raise mistake
