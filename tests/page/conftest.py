"""One year of an invented household with troubles, its page, and one real browser for all that look at it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.people import TapsDry
from gateway.page import make_page
from gateway.phrases import languages, load_phrases, with_page_words
from gateway.storage import open_store
from tests.page import years
from tests.page.browser import CHROMIUM, WHY_NOT, browser

NOW = datetime(2026, 11, 25, 3, 4, tzinfo=UTC)


@pytest.fixture(scope="session")
def year(tmp_path_factory):
    """A year with troubles at its end: its folder and its site."""
    folder = tmp_path_factory.mktemp("year")
    site = years.household(folder)
    years.fill(site, NOW, 366, texts=False)
    years.trouble(site, NOW)
    return folder, site


@pytest.fixture(scope="session")
def year_page(year):
    """Its page."""
    return _page(*year)


@pytest.fixture(scope="session")
def full_page(year):
    """Its page with nothing folded away."""
    return _page(*year, name="full.html", full=True)


@pytest.fixture(scope="session")
def kept_page(year):
    """Its page as the daemon writes it, good for a quarter of an hour."""
    return _page(*year, name="kept.html", good_until=NOW + timedelta(minutes=15))


@pytest.fixture(scope="session")
def dry_page(tmp_path_factory):
    """The page of a household that was well until somebody said that the taps are dry."""
    folder = tmp_path_factory.mktemp("dry")
    site = years.household(folder)
    years.fill(site, NOW, 60, texts=False, only_well=True)
    years.trouble(site, NOW)
    store = open_store(site.settings.store.url, site.settings.site.name)
    with store.write() as tx:
        tx.set_state(TapsDry(since=NOW - timedelta(hours=1), by="Wren"))
    store.close()
    return _page(folder, site, good_until=NOW + timedelta(minutes=15))


@pytest.fixture(scope="session")
def well_page(tmp_path_factory):
    """The page of a household that was well for two months."""
    folder = tmp_path_factory.mktemp("well")
    site = years.household(folder)
    years.fill(site, NOW, 60, texts=True, only_well=True)
    return _page(folder, site)


@pytest.fixture(scope="session", params=languages())
def page_in(request, year):
    """Its page in each language, in a file named by it."""
    folder, site = year
    spoken = replace(site, phrases=load_phrases(request.param))
    return _page(folder, spoken, name=f"{request.param}.html")


@pytest.fixture(scope="session", params=[0, 1, 9, 45], ids=lambda days: f"{days}-days")
def young_page(request, tmp_path_factory):
    """The page of a household that has not been at it for long."""
    folder = tmp_path_factory.mktemp("young")
    site = years.household(folder)
    if request.param:
        years.fill(site, NOW, request.param, texts=False)
    return _page(folder, site)


def _page(folder, site, name="page.html", **how):
    store = open_store(site.settings.store.url, site.settings.site.name)
    with store.read() as reader:
        (folder / name).write_text(make_page(reader, site, NOW, **how), "utf-8")
    store.close()
    return folder / name


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


@pytest.fixture
def english(site):
    """The household, with the page's words."""
    return replace(site, phrases=with_page_words(load_phrases("en")))
