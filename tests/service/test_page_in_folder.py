"""The page in the folder: fresh on change and every ten minutes, a burst costs one, an unwritable folder is left alone for a minute."""

import os
import stat
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

import gateway.page
from tests.faults.board import UNLIMITED, Board
from tests.household import RIDGE

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A board with a page in `web`, not yet at work; `home.written` counts the pages."""
    made = Board(tmp_path, rest=f'[page]\nfolder = "{tmp_path / "web"}"\n{UNLIMITED}')
    made.written = 0
    write = gateway.page.write_page

    def counted(*arguments, **options):
        made.written += 1
        write(*arguments, **options)

    monkeypatch.setattr(gateway.page, "write_page", counted)
    yield made
    made.cut()


@pytest.fixture
def page(tmp_path):
    """The file."""
    return tmp_path / "web" / "index.html"


def written_while(home, span):
    """How many pages while so much time went by."""
    before = home.written
    home.pass_time(span)
    return home.written - before


def test_fresh_on_change_and_every_ten_minutes(home, page):
    """At once, then soon after each change, then after ten minutes in which nothing happened; it says until when it is good."""
    home.start()
    assert page.exists()
    html, local = page.read_text(), home.clock.now().astimezone(ZoneInfo("Australia/Sydney"))
    assert f"After {local + 15 * MINUTE:%a %-d %b %Y %H:%M} this page is old" in html and 'http-equiv="refresh"' in html
    home.pass_time(MINUTE)
    assert written_while(home, 8 * MINUTE) == 0 and written_while(home, 2 * MINUTE) == 1
    home.pass_time(MINUTE)
    before = home.written
    home.hears(RIDGE, "LINE 1 MADE 0717")
    assert home.written == before + 1 and "LOW" in page.read_text().upper()
    home.hears(RIDGE, "LINE 1 BROKE 0718")
    home.hears(RIDGE, "LINE 1 MADE 0719")
    assert home.written == before + 1, "a burst costs one"
    assert written_while(home, timedelta(seconds=4)) == 0
    assert written_while(home, timedelta(seconds=2)) == 1
    assert written_while(home, 9 * MINUTE) == 0


def test_a_web_server_may_read_it(home, page):
    """Whatever the service's own umask; a folder that was there keeps its mode."""
    before = os.umask(0o077)
    try:
        for made_before, mode in ((False, 0o755), (True, 0o700)):
            if made_before:
                page.unlink()
                page.parent.chmod(mode)
            home.start()
            assert [stat.S_IMODE(one.stat().st_mode) for one in (page.parent, page)] == [mode, 0o644]
            home.cut()
    finally:
        os.umask(before)


def test_a_folder_that_cannot_be_written_is_tried_again_in_a_minute(home, page, caplog):
    """Not over and over, on record as the page's trouble and not the store's; and it is written once it can be."""
    caplog.set_level("INFO", "gateway")
    page.parent.write_text("a file stands where the folder should be")
    home.start()
    assert home.written == 1 and "page file was not written" in caplog.text and "can be kept" not in caplog.text
    assert written_while(home, timedelta(seconds=59)) == 0
    page.parent.unlink()
    assert written_while(home, timedelta(seconds=2)) == 1 and page.exists()


def test_a_clock_put_back_does_not_stop_it(home, page):
    """A page from the future is written anew; one of a clock that was never set is fresh like any other."""
    home.start()
    for step in (-2 * HOUR, timedelta(days=-20_000)):
        home.clock.step(step)
        before = home.written
        home.pass_time(MINUTE)
        assert home.written > before
