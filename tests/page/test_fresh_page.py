"""The page in the folder: fresh on change and hourly, a burst costs one, a folder that cannot be written is left alone for a minute."""

import os
import stat
from datetime import timedelta

import pytest

from gateway.service.chores import Chores
from gateway.service.fresh_page import AFTER_FAILURE, FRESH_EVERY, REST, Pages
from gateway.storage import open_store
from tests.page.shown import NOW, event


@pytest.fixture
def write(site):
    """(kept page, seconds after NOW) → whether it was written, over the household's store; `happen` lets something happen."""
    store = open_store(site.settings.store.url, site.settings.site.name)

    class World:
        def record_event(self):
            with store.write() as tx:
                tx.keep_event(event("note", NOW, text="x"))

        def __call__(self, pages, seconds):
            with store.read() as reader:
                html = pages.fresh(reader, site, NOW + timedelta(seconds=seconds))
            if html is not None:
                pages.keep(html)
            return html is not None

    yield World()
    store.close()


def test_fresh_on_change_and_hourly(write, tmp_path):
    """At once, then soon after each change, then after an hour in which nothing happened."""
    pages = Pages(str(tmp_path / "web"))
    assert write(pages, 0) and (tmp_path / "web" / "index.html").exists()
    assert not write(pages, 60) and pages.due(NOW) == NOW + FRESH_EVERY
    write.record_event()
    assert write(pages, 61)
    write.record_event()
    assert not write(pages, 62) and pages.due(NOW + timedelta(seconds=62)) == NOW + timedelta(seconds=61) + REST
    assert write(pages, 66) and not write(pages, 3665) and write(pages, 3666)


def test_a_web_server_may_read_it(write, tmp_path):
    """Whatever the service's own umask; a folder that was there keeps its mode."""
    before = os.umask(0o077)
    try:
        (tmp_path / "old").mkdir()
        for folder, mode in (("new", 0o755), ("old", 0o700)):
            assert write(Pages(str(tmp_path / folder)), 0)
            modes = [
                stat.S_IMODE(made.stat().st_mode) for made in (tmp_path / folder, tmp_path / folder / "index.html")
            ]
            assert modes == [mode, 0o644]
    finally:
        os.umask(before)


def test_a_folder_that_cannot_be_written_is_tried_again_in_a_minute(write, tmp_path):
    """Not over and over; and it is written once it can be."""
    (tmp_path / "web").write_text("a file stands where the folder should be")
    pages = Pages(str(tmp_path / "web"))
    with pytest.raises(OSError, match="web"):
        write(pages, 0)
    assert pages.due(NOW) == NOW + AFTER_FAILURE and not write(pages, 59)
    (tmp_path / "web").unlink()
    assert write(pages, 60)


def test_the_daemon_goes_on_where_the_page_cannot_be_written(site, tmp_path):
    """It is on record as the page's trouble, not the store's."""
    logged = []
    (tmp_path / "web").write_text("")
    store = open_store(site.settings.store.url, site.settings.site.name)
    chores = Chores(
        store, lambda work: None, lambda what, **more: logged.append(what), None, Pages(str(tmp_path / "web"))
    )
    assert chores.do(NOW, site) > NOW
    store.close()
    assert logged == ["page-not-written"]


def test_a_clock_put_back_does_not_stop_it(write, tmp_path):
    """A page from the future is written anew."""
    pages = Pages(str(tmp_path / "web"))
    assert write(pages, 7200) and write(pages, 0)
