"""What is due by the calendar is done once for each due time while days and years go by, and the loop rests in between."""

import itertools
from datetime import timedelta

from tests.fakes.fake_clock import FakeClock
from tests.faults.board import Board

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
A_MICROSECOND = timedelta(microseconds=1)
WAKE_UPS_AN_HOUR = 65
"""One a minute, at which the loop looks round however the clock was set, and few for what is due in between."""


def household(tmp_path, *, clock=None, **parts):
    """A board with a folder for backups."""
    folder = tmp_path / "backups"
    folder.mkdir()
    made = Board(tmp_path, clock or FakeClock(a_look_takes=A_MICROSECOND), **parts)
    config = made.config.read_text().replace("[store]\n", f'[store]\nbackup_folder = "{folder}"\n')
    made.config.write_text(config)
    made.reload_settings()
    return made


def test_a_backup_a_day_is_made_by_itself_and_the_loop_rests_between(tmp_path):
    """Ten days on a clock on which each look is later than the one before, as on every real one: that kept any from being made."""
    home = household(tmp_path)
    home.start()
    for hour in range(1, 240):
        home.pass_time(HOUR)
        assert home.wake_ups <= hour * WAKE_UPS_AN_HOUR
    made = home.events("backup-made")
    home.cut()
    assert len(made) == 10
    assert {round((late.at - early.at) / DAY, 2) for early, late in itertools.pairwise(made)} == {1.0}
