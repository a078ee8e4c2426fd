"""The page in a real browser: at both widths, in light and dark, by keyboard and screen reader, on paper."""

import re
from itertools import pairwise

import pytest

from tests.page.axe import AXE
from tests.page.years import HOSTILE

pytestmark = pytest.mark.xdist_group("browser")
LOOKS = [(390, False), (390, True), (1280, False), (1280, True)]
TOO_WIDE = """[...document.querySelectorAll('main *, header *, footer *')].filter(element => {
  const at = element.getBoundingClientRect();
  return at.width > 1 && at.height > 1 && !element.closest('.sr') && (at.right > innerWidth + 1 || at.left < -1);
}).slice(0, 5).map(element => element.outerHTML.slice(0, 120))"""
TWICE = "document.documentElement.style.fontSize = document.body.style.fontSize = '200%'"
SHOW_ALL = "document.querySelectorAll('details').forEach(element => element.open = true)"
CONTRASTS = """(() => {
  const parts = colour => colour.match(/[\\d.]+/g).map(Number);
  const light = colour => { const [r, g, b] = parts(colour).map(part => part / 255)
    .map(part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = element => { for (; element; element = element.parentElement) {
    const colour = getComputedStyle(element).backgroundColor; if (parts(colour).length < 4 || parts(colour)[3] > 0) return colour; } };
  const ratio = (colour, other) => {
    const [low, high] = [light(colour), light(other)].sort((a, b) => a - b); return (high + 0.05) / (low + 0.05); };
  const found = [];
  for (const element of document.querySelectorAll('body *')) {
    const own = [...element.childNodes].some(node => node.nodeType === 3 && node.data.trim());
    if (!own || element.closest('.sr, .skip, style, title, desc')) continue;
    const drawn = element.closest('svg'), style = getComputedStyle(element);
    found.push([ratio(drawn ? style.fill : style.color, behind(drawn ? drawn.parentElement : element)), element.outerHTML.slice(0, 80)]);
  }
  return found; })()"""
MARKS = """(() => { const style = getComputedStyle(document.documentElement);
  const names = ['paper', 'card', 'water', 'low', 'high', 'power', 'silent', 'note'];
  return Object.fromEntries(names.map(name => [name, style.getPropertyValue('--' + name).trim()])); })()"""
SEEN_BY = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.01182, 0.04294, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.3039)),
}
"""Linear RGB as dichromats see it (Machado, Oliveira, Fernandes 2009, severity 1)."""
HATCHED = ("high", "power", "silent")


@pytest.fixture(params=LOOKS, ids=lambda look: f"{look[0]}-{'dark' if look[1] else 'light'}")
def shown(request, chromium, year_page):
    """The page of a year at one width, in one scheme."""
    width, dark = request.param
    chromium.open(year_page, width, dark=dark)
    return chromium


def test_nothing_is_wider_than_the_window(shown):
    """Neither as it opens nor with every table open."""
    for _ in range(2):
        assert shown.run("document.documentElement.scrollWidth") <= shown.width == shown.run("innerWidth")
        assert shown.run(TOO_WIDE) == []
        shown.run(SHOW_ALL)


@pytest.mark.parametrize("width", [390, 1280])
def test_what_is_drawn_is_more_than_axes(chromium, young_page, width):
    """Each chart has several marks, and one that lacks them is a sentence that is seen in its place; nothing is wider than the window."""
    chromium.open(young_page, width)
    chromium.run(SHOW_ALL)
    assert chromium.run("document.documentElement.scrollWidth") <= width and chromium.run(TOO_WIDE) == []
    marks = chromium.run(
        "[...document.querySelectorAll('figure svg[role=img]')].map(chart => chart.querySelectorAll('rect, circle').length)"
    )
    assert marks and min(marks) > 2
    shown_instead = chromium.run("""[...document.querySelectorAll('main p.soft')].filter(p => p.innerText.includes('there is a chart from'))
      .map(instead => [instead.innerText, instead.getBoundingClientRect()]).map(([words, at]) => [words, at.width > 100 && at.height > 15])""")
    assert shown_instead and all(shown and words.endswith(" on.") for words, shown in shown_instead)


def test_nothing_is_said_asked_or_run(shown, year_page):
    """No word on the console, no address asked for but the page itself, no hostile text at work."""
    assert shown.said == []
    assert shown.asked == [f"file://{year_page}"]
    assert shown.run("document.title").startswith("Quandong Ridge: ")
    assert shown.run("document.querySelectorAll('script, img, iframe, base, link, h1 ~ h1, i').length") == 0
    assert shown.run("document.querySelectorAll('h1').length") == 1


def test_hostile_texts_are_read_as_they_came(chromium, year_page):
    """Each of them stands in the record, character by character."""
    chromium.open(year_page, 1280)
    record = chromium.run("[...document.querySelectorAll('.record code')].map(code => code.textContent)")
    for text in HOSTILE:
        assert text.replace("\u202e", "\\u202e").replace("\u202c", "\\u202c").replace("\x1b", "\\x1b") in record


def test_text_can_be_read_against_what_it_stands_on(shown):
    """Every text, drawn ones too: 4.5 to 1 (WCAG 2.2, 1.4.3)."""
    ratios = shown.run(CONTRASTS)
    assert len(ratios) > 300
    assert [pair for pair in ratios if pair[0] < 4.5] == []


@pytest.mark.parametrize("dark", [False, True])
def test_marks_can_be_told_from_paper_and_from_each_other(chromium, year_page, dark):
    """3 to 1 against the paper (WCAG 2.2, 1.4.11); plain ones apart for every kind of colour-blindness, the others are hatched."""
    chromium.open(year_page, 1280, dark=dark)
    colours = chromium.run(MARKS)
    paper = colours.pop("paper"), colours.pop("card")
    for name, colour in colours.items():
        assert all(_ratio(colour, behind) >= 3 for behind in paper), name
    for name in HATCHED:
        assert chromium.run(f"getComputedStyle(document.querySelector('.legend .t-{name}')).fill").startswith("url("), (
            name
        )
    plain = [colours[name] for name in colours if name not in HATCHED]
    for matrix in SEEN_BY.values():
        seen = [_seen(colour, matrix) for colour in plain]
        assert min(_apart(a, b) for n, a in enumerate(seen) for b in seen[:n]) > 12


def test_a_screen_reader_is_told_what_each_drawing_is(chromium, year_page):
    """Each drawing has a name and a description, each chart a table; headings go down step by step; there are landmarks."""
    chromium.open(year_page, 1280)
    chromium.run(SHOW_ALL)
    names = chromium.names()
    images = [name for role, name in names if role == "image"]
    assert len(images) == chromium.run("document.querySelectorAll('svg[role=img]').length") > 15
    assert all(images) and len(set(images)) > 10
    assert chromium.run("[...document.querySelectorAll('svg[role=img]')].every(drawn => drawn.querySelector(':scope > title').textContent.trim()"
                        " && drawn.querySelector(':scope > desc').textContent.trim())")  # fmt: skip
    assert chromium.run(
        "[...document.querySelectorAll('figure')].every(drawn => drawn.querySelectorAll('table tbody tr').length > 1)"
    )
    levels = chromium.run("[...document.querySelectorAll('h1, h2, h3, h4')].map(heading => +heading.tagName[1])")
    assert levels[0] == 1 and all(after - before <= 1 for before, after in pairwise(levels))
    roles = {role for role, _ in names}
    assert {"main", "banner", "navigation", "contentinfo", "heading", "table", "list"} <= roles
    assert all(name for role, name in names if role in ("link", "DisclosureTriangle", "navigation", "article"))


def test_it_is_used_by_keyboard(chromium, year_page):
    """The first stop is the way past the navigation; every table is opened by Enter, and where one stands is seen."""
    chromium.open(year_page, 1280)
    chromium.press("Tab", 9)
    assert chromium.run("document.activeElement.className") == "skip"
    stops = 0
    while chromium.run("document.activeElement.tagName") != "SUMMARY":
        chromium.press("Tab", 9)
        stops += 1
        assert stops < 40
    assert chromium.run("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    chromium.press("Enter", 13)
    assert chromium.run("document.activeElement.parentElement.open") is True


@pytest.mark.skipif(AXE is None, reason="axe-core is not here: python -m tests.page.axe fetches it with npm")
@pytest.mark.parametrize(("width", "dark"), [(390, True), (1280, False)])
def test_axe_finds_nothing(chromium, year_page, width, dark):
    """No finding of any weight, with every table open."""
    assert AXE is not None
    chromium.open(year_page, width, dark=dark)
    chromium.run(SHOW_ALL)
    chromium.run(f"{AXE.read_text('utf-8')};0")
    script = "axe.run().then(result => [result.violations.map(v => [v.id, v.impact, v.nodes[0].html.slice(0, 200)]), result.passes.length])"
    violations, passed = chromium.run(script)
    assert violations == [] and passed > 20


@pytest.mark.parametrize("height_mm", [None, 250])
def test_on_paper_nothing_is_torn(chromium, full_page, height_mm):
    """A4; no chart, tank or lane on two pages; no heading at the foot of a page without what it heads, wherever pages end."""
    chromium.open(full_page, 1280)
    paper = chromium.pdf(height_mm).decode("latin-1")
    sheets = re.findall(r"/Type /Page\b.*?/MediaBox \[([\d. ]+)\]", paper, re.S)
    assert 5 <= len(sheets) <= 16
    assert height_mm or {tuple(round(float(side)) for side in box.split()[2:]) for box in sheets} == {(595, 842)}
    tree = _tree(paper)
    figures = [figure for figure in tree.values() if figure["S"] == "Figure"]
    assert len(figures) >= 25
    assert [figure["Alt"] for figure in figures if len(_pages(tree, figure)) > 1] == []
    order = _leaves_with_headings(tree)
    assert sum(1 for kind, _ in order if kind.startswith("H")) >= 15
    assert [page for (kind, page), (_, after) in pairwise(order) if kind.startswith("H") and page != after] == []


def test_a_phone_opens_four_screens_and_paper_takes_two_sheets(chromium, kept_page, dry_page, well_page):
    """Of three tanks and two boxes with troubles, or with dry taps, on a phone; of a normal week on paper: what is routine is folded away."""
    for page in (kept_page, dry_page):
        for width, height in ((390, 844), (360, 740)):
            chromium.open(page, width, height)
            assert chromium.run("document.documentElement.scrollHeight") <= 4 * height
    chromium.open(well_page, 1280)
    assert len(re.findall(rb"/Type /Page\b", chromium.pdf())) <= 2


def test_with_dry_taps_a_phone_shows_what_to_do_and_what_not_to_drink_before_all_else(chromium, dry_page):
    """Within two screens, each step once; the fortnight and the steps for another time wait behind a touch."""
    chromium.open(dry_page, 360, 740)
    caution, stands = chromium.run(
        "['header .caution', 'header .alarms'].map(part => document.querySelector(part).getBoundingClientRect().bottom)"
    )
    assert caution < stands and caution < 2 * 740
    words = chromium.run("document.body.innerText")
    assert words.count("Do not drink the water") == 1 and words.count("Close the house valve") == 1
    assert "rolling boil" in words and "1 of 4" in words


def test_the_taps_come_first_and_then_the_tank_that_feeds_them(chromium, year_page):
    """The verdict ends within a phone's first screen; the first tank below it is the house tank."""
    chromium.open(year_page, 390, 844)
    assert chromium.run("document.querySelector('h1').getBoundingClientRect().top") < 60
    tops = chromium.run(
        "[...document.querySelectorAll('.supply article')].map(card => [card.getBoundingClientRect().top, card.innerText])"
    )
    assert "House <b>tank</b>" in min(tops)[1]
    chromium.open(year_page, 1280)
    lefts = chromium.run(
        "[...document.querySelectorAll('.supply article')].map(card => [card.getBoundingClientRect().left, card.innerText])"
    )
    assert "House <b>tank</b>" in max(lefts)[1], "as water flows: from the source to the house"


@pytest.mark.parametrize(("width", "larger"), [(320, "0"), (768, TWICE)], ids=["narrow", "larger"])
def test_it_may_be_written_in_any_direction_and_twice_as_large(chromium, page_in, width, larger):
    """Each language, from right to left, at 320 pixels (WCAG 2.2, 1.4.10) and with letters of 200 % (1.4.4): nothing is too wide."""
    chromium.open(page_in, width)
    assert chromium.run("document.documentElement.lang") == page_in.stem
    for script in (larger, "document.documentElement.dir = 'rtl'"):
        chromium.run(script)
        assert chromium.run("document.documentElement.scrollWidth") <= width and chromium.run(TOO_WIDE) == []


@pytest.mark.skipif(AXE is None, reason="axe-core is not here: python -m tests.page.axe fetches it with npm")
def test_axe_finds_only_that_a_kept_page_renews_itself(chromium, kept_page):
    """Which it must: a page of now that stays as it was is wrong (WCAG 2.2, 2.2.1, what is of real time)."""
    chromium.open(kept_page, 390)
    chromium.run(f"{AXE.read_text('utf-8')};0")
    assert chromium.run("axe.run().then(result => result.violations.map(found => found.id))") == ["meta-refresh"]


def _tree(paper):
    """The structure of a tagged PDF: number → its kind, its page, what is within it."""
    tree = {}
    for number, body in re.findall(r"(\d+) 0 obj\n<</Type /StructElem\n(.*?)\nendobj", paper, re.S):
        inner = body[body.find("/K ") :] if "/K " in body else ""
        page = re.search(r"/Pg (\d+) 0 R", body)
        alt = re.search(r"/Alt \((.*?)\)\n", body)
        tree[number] = {
            "S": re.search(r"/S /(\w+)", body)[1],
            "Pg": page[1] if page else None,
            "Alt": alt[1] if alt else "",
            "K": re.findall(r"(?<!/Pg )(?<!/Stm )\b(\d+) 0 R", inner),
            "more": re.findall(r"/Type /MCR\s*/Pg (\d+) 0 R", inner),
        }
    return tree


def _pages(tree, element):
    """Every page that an element or what is within it stands on."""
    pages = {element["Pg"], *element["more"]} - {None}
    for inner in element["K"]:
        if inner in tree:
            pages |= _pages(tree, tree[inner])
    return pages


def _leaves_with_headings(tree):
    """(kind, page) of headings and whatever else is printed, in the order of reading."""
    within = {inner for element in tree.values() for inner in element["K"]}
    order = []

    def walk(number, heading):
        element = tree[number]
        kind = element["S"] if re.fullmatch(r"H\d", element["S"]) else heading
        if element["Pg"] and (element["S"] not in ("Document",)):
            order.append((kind or element["S"], element["Pg"]))
        for inner in element["K"]:
            if inner in tree:
                walk(inner, kind)

    for number in tree:
        if number not in within:
            walk(number, "")
    return order


def _linear(colour):
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]


def _ratio(first, second):
    low, high = sorted(
        sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), _linear(colour), strict=True))
        for colour in (first, second)
    )
    return (high + 0.05) / (low + 0.05)


def _seen(colour, matrix):
    return [min(1.0, max(0.0, sum(a * b for a, b in zip(row, _linear(colour), strict=True)))) for row in matrix]


def _apart(first, second):
    """CIE 1976 difference of two linear RGB colours."""
    return sum((a - b) ** 2 for a, b in zip(_lab(first), _lab(second), strict=True)) ** 0.5


def _lab(linear):
    to_xyz = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
    white = (0.9505, 1.0, 1.089)
    shares = [
        sum(a * b for a, b in zip(row, linear, strict=True)) / top for row, top in zip(to_xyz, white, strict=True)
    ]
    x, y, z = (share ** (1 / 3) if share > 0.008856 else 7.787 * share + 16 / 116 for share in shares)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)
