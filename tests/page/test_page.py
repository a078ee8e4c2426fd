"""The command's page is one file that loads nothing, escapes what came from outside, names its drawings and stays small."""

import re
from datetime import timedelta
from html.parser import HTMLParser

import pytest

from gateway.__main__ import main
from gateway.facts import Event, Text
from gateway.page import make_page
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.storage import open_store
from tests.household import write_config
from tests.page import years
from tests.page.conftest import NOW
from tests.page.shown import HOUR, event

CSV = "received_at,sender,text\n2026-11-20T04:11:00+11:00,0491 570 006,LINE 2 MADE now\n" + (
    "2026-11-20T09:11:00+11:00,0491 570 006,<script>document.title='x'</script><img src=http://192.0.2.1/x>\n"
    "2026-11-21T09:11:00+11:00,0491 570 006,SUPPLY 12.4 V\n"
)
HALF_A_MEGABYTE = 500_000
ALLOWED_TAGS = """
html head meta title style body a svg defs pattern rect circle path line text title desc g clippath header main nav footer section
article div p ul ol li dl dt dd h1 h2 h3 h4 strong b bdi span time table caption thead tbody tr th td figure figcaption details summary code
"""


class Elements(HTMLParser):
    """Every element with its attributes, and which is within which."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html)

    def handle_starttag(self, tag, attrs) -> None:
        """Notes it."""
        self.found.append((tag, dict(attrs)))


@pytest.fixture
def imported(tmp_path):
    """The page that the command writes, of a household with a hostile text in its history."""
    config = write_config(tmp_path)
    (tmp_path / "old.csv").write_text(CSV)
    assert main(["import", str(tmp_path / "old.csv"), "--config", str(config)]) == 0
    file = tmp_path / "page.html"
    assert main(["page", str(file), "--config", str(config)]) == 0
    return file.read_text("utf-8")


def test_the_command_writes_what_came_as_text(imported):
    """What came from outside stands there as it came, and is no markup."""
    assert "&lt;script&gt;document.title=&#39;x&#39;&lt;/script&gt;&lt;img src=http://192.0.2.1/x&gt;" in imported
    assert "Spring tank went low." in imported and "12.4 V" in imported


@pytest.mark.parametrize("which", ["imported", "year_page"])
def test_it_is_made_of_harmless_elements_and_loads_nothing(request, which):
    """No element but those of a plain page; no address but those within it; no handler."""
    value = request.getfixturevalue(which)
    html = value if isinstance(value, str) else value.read_text("utf-8")
    elements = Elements(html).found
    assert {tag for tag, _ in elements} <= set(ALLOWED_TAGS.split())
    for tag, attributes in elements:
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            assert name not in ("href", "src", "action", "data", "xlink:href") or (value or "").startswith("#"), (
                tag,
                name,
                value,
            )
    style = html[html.index("<style>") : html.index("</style>")]
    assert "@import" not in style and "url(" not in re.sub(r"url\(#", "", style)


def test_ids_are_there_once_and_every_reference_is_met(year_page):
    """Whatever a label, a link or a pattern names is on the page, once."""
    html = year_page.read_text("utf-8")
    elements = Elements(html).found
    ids = [attributes["id"] for _, attributes in elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    named = {
        id
        for _, attributes in elements
        for key in ("aria-labelledby", "aria-describedby")
        for id in (attributes.get(key) or "").split()
    }
    named |= {(attributes.get("href") or "#").removeprefix("#") for tag, attributes in elements if tag == "a"}
    named |= set(re.findall(r"url\(#([\w-]+)\)", html))
    assert named and named <= set(ids)


def test_a_year_is_under_half_a_megabyte_whatever_is_texted(tmp_path):
    """A float that chatters all year, the longest texts and notes of markup: the page stays small."""
    site = years.household(tmp_path)
    store = open_store(site.settings.store.url, site.settings.site.name)
    with store.write() as tx:
        for number in range(2000):
            at = NOW - timedelta(hours=4 * number)
            kind = "low" if number % 2 else "low-over"
            tx.keep_event(
                Event(kind=kind, at=at, heard_at=at, known_at=at, tank="spring", controller="creek", input="1")
            )
        for number in range(100):
            at = NOW - timedelta(minutes=number)
            kind = "unread" if number % 2 else "note"
            tx.keep_event(
                Event(kind=kind, at=at, heard_at=at, known_at=at, controller="ridge", text="<\u202e&\"'" * 300)
            )
    with store.read() as reader:
        html = make_page(reader, site, NOW)
    store.close()
    assert len(html.encode()) < HALF_A_MEGABYTE


def test_a_year_with_all_its_charts_is_under_half_a_megabyte(year_page):
    """Three tanks, two controllers, a year."""
    assert year_page.stat().st_size < HALF_A_MEGABYTE


OWN = """
[words]
tanks = ["WATER"]
dry = ["EMPTY"]
[label]
low = "runs short"
never-heard = "is mute"
"""


def test_what_the_household_says_otherwise_stands_on_the_page_too(tmp_path):
    """Its names of what is the matter, and the very words that the gateway will understand when somebody texts what the page tells to."""
    years.household(tmp_path)
    file, own = tmp_path / "gateway.toml", tmp_path / "phrases.toml"
    own.write_text(OWN, "utf-8")
    file.write_text(f'phrases = "{own}"\n{file.read_text("utf-8")}', "utf-8")
    site = compile_site(load(str(file)).settings)
    with (store := open_store(site.settings.store.url, site.settings.site.name)).write() as tx:
        heard = Text(number="+61491570006", text="LINE 3 MADE", at=NOW - HOUR, heard_at=NOW - HOUR)
        tx.keep_text(heard, "read", controller="ridge")
        tx.keep_event(event("low", NOW - HOUR, tank="hill", controller="ridge", input="3"))
    with store.read() as reader:
        html = make_page(reader, site, NOW, good_until=NOW + HOUR)
    store.close()
    assert "Hill tank runs short since" in html and "paddock gate is mute." in html
    assert "Then send WATER to the gateway" in html and "Text EMPTY next time" in html
    assert "LOW" not in html and "TANKS" not in html
