"""One year of an invented household with troubles, its page, and one real browser for all that look at it."""

from datetime import UTC, datetime

import pytest

from gateway.page import make_page
from gateway.storage import open_store
from tests.page import years
from tests.page.browser import CHROMIUM, WHY_NOT, browser

NOW = datetime(2026, 11, 25, 3, 4, tzinfo=UTC)


@pytest.fixture(scope="session")
def year_page(tmp_path_factory):
    """The page of a year, in a file of its own folder."""
    folder = tmp_path_factory.mktemp("year")
    site = years.household(folder)
    years.fill(site, NOW, 366, texts=False)
    years.trouble(site, NOW)
    return _page(folder, site)


@pytest.fixture(scope="session", params=[0, 1, 9, 45], ids=lambda days: f"{days}-days")
def young_page(request, tmp_path_factory):
    """The page of a household that has not been at it for long."""
    folder = tmp_path_factory.mktemp("young")
    site = years.household(folder)
    if request.param:
        years.fill(site, NOW, request.param, texts=False)
    return _page(folder, site)


def _page(folder, site):
    store = open_store(site.settings.store.url, site.settings.site.name)
    with store.read() as reader:
        (folder / "page.html").write_text(make_page(reader, site, NOW), "utf-8")
    store.close()
    return folder / "page.html"


@pytest.fixture
def site(tmp_path):
    """The same household, with nothing in its store yet."""
    return years.household(tmp_path)


@pytest.fixture(scope="session")
def chromium(tmp_path_factory):
    """The browser, or the reason why nobody looked."""
    if CHROMIUM is None:
        pytest.skip(WHY_NOT)
    with browser(tmp_path_factory.mktemp("browser")) as running:
        yield running
