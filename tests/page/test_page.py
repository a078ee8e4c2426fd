"""The page is one file that loads nothing, escapes what came from outside, and is right at both widths in a real browser."""

import re
import shutil
import subprocess

import pytest

from gateway.__main__ import main
from tests.household import write_config

CSV = "received_at,sender,text\n2026-11-20T04:11:00+11:00,0491 570 006,ZONE 2 OPEN now\n" + (
    "2026-11-20T09:11:00+11:00,0491 570 006,<script>document.title='x'</script><img src=http://192.0.2.1/x>\n"
    "2026-11-21T09:11:00+11:00,0491 570 006,SUPPLY 12.4 V\n"
)
CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


@pytest.fixture
def page(tmp_path):
    """A page of the household with a hostile text in its history."""
    config = write_config(tmp_path)
    (tmp_path / "old.csv").write_text(CSV)
    assert main(["import", str(tmp_path / "old.csv"), "--config", str(config)]) == 0
    file = tmp_path / "page.html"
    assert main(["page", str(file), "--config", str(config)]) == 0
    return file


def test_it_loads_nothing_and_runs_nothing(page):
    """No script, no address, and what came from outside is text."""
    html = page.read_text()
    assert "<script" not in html and "&lt;script&gt;" in html
    assert not re.search(r"""(src|href)\s*=\s*["']?https?:""", html.replace("&lt;img src=http://192.0.2.1/x&gt;", ""))
    assert len(html.encode()) < 500_000


def test_every_chart_has_a_name_and_a_description(page):
    """Each drawing is an image with a title and a description."""
    html = page.read_text()
    drawings = re.findall(r"<svg .*?</svg>", html, re.S)
    assert drawings and all("<title" in one and "<desc" in one and 'role="img"' in one for one in drawings)


@pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine (apt install chromium)")
@pytest.mark.parametrize("width", [390, 1280])
def test_no_overflow_in_a_real_browser(page, tmp_path, width):
    """At both widths nothing is wider than the window, and the hostile text stayed text."""
    probe = tmp_path / "probe.html"
    probe.write_text(
        f'<iframe id="f" src="page.html" style="width:{width}px;height:2000px;border:0"></iframe>'
        "<script>f.onload=()=>{const d=f.contentDocument.documentElement;"
        "document.title=d.scrollWidth+' '+f.contentDocument.title}</script>"
    )
    shown = subprocess.run(
        [CHROMIUM, *FLAGS, "--allow-file-access-from-files", f"--user-data-dir={tmp_path}/browser", "--virtual-time-budget=3000",
         "--dump-dom", f"file://{probe}"],
        capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    title = re.search(r"<title>(\d+) (.*?)</title>", shown.stdout)
    assert title is not None and int(title[1]) <= width and "Quandong Ridge" in title[2]
