"""Ten years of a gauge's hourly texts → what the store weighs, what thinning takes, and whether questions stay flat.

`python -m tests.bench.levels [YEARS]` prints the table that stands in BENCH.md: the very reading of texts, each with its own time, thinned
by the daemon's own job once a day of theirs.
"""

import math
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from gateway.facts import Text
from gateway.handlers.text import read_text
from gateway.handlers.thin_levels import thin_levels
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.page import make_page
from gateway.ports import Reader, Store
from gateway.settings.load import load_text
from gateway.site import Site, compile_site
from gateway.status.snapshot import take_snapshot
from gateway.storage import open_store
from tests.rehearsal.years import SMALL

GAUGE = """
[[tanks]]
id = "hill"
name = "Hill tank"
shape = { kind = "litres", litres = 4000, height_m = 1.8 }
gauges = [ { controller = "ridge", input = "L1", reads = "m", low_m = 0.3 } ]
[[contacts]]"""
RULE = '{ text = "CALM *", means = "alive" },\n  { text = "GAUGE {input} {level}", means = "level" },'
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
BEGINS = datetime(2027, 1, 1, tzinfo=UTC)
DAYS_A_YEAR = 365


def site_with_gauge() -> Site:
    """The small household, with a tank that a gauge watches."""
    whole = SMALL.replace("[[contacts]]", GAUGE).replace('{ text = "CALM *", means = "alive" },', RULE)
    return compile_site(load_text(whole, "levels.toml").settings)


def lives_a_day(store: Store, site: Site, day: int) -> None:
    """Twenty-four texts, in one transaction, and the day's thinning."""
    with store.write() as tx:
        for hour in range(24):
            at = BEGINS + day * DAY + hour * HOUR
            # up in the night, down by day, and a season: never the same height twice
            level = (
                1.1
                + 0.3 * math.sin(hour / 24 * math.tau)
                + 0.2 * math.sin(day / DAYS_A_YEAR * math.tau)
                + day % 7 / 1000
            )
            text = Text(number=site.settings.controllers[0].number[0], text=f"GAUGE L1 {level:.4f}", at=at, heard_at=at)
            read_text(UnitOfWork(tx=tx, site=site, now=at), text)
        thin_levels(UnitOfWork(tx=tx, site=site, now=BEGINS + (day + 1) * DAY))


def asked(reader: Reader, site: Site, now: datetime) -> list[float]:
    """Milliseconds of processor for the tanks, a month's history and the page: the best of three each."""
    questions: tuple[Callable[[], object], ...] = (
        lambda: take_snapshot(reader, site, now),
        lambda: reader.events(since=now - 30 * DAY),
        lambda: make_page(reader, site, now),
    )
    return [_best(question) * 1000 for question in questions]


def _best(question: Callable[[], object]) -> float:
    seconds = []
    for _ in range(3):
        begun = time.thread_time()
        question()
        seconds.append(time.thread_time() - begun)
    return min(seconds)


def main(years: int) -> None:
    """The table, a year a row."""
    site = site_with_gauge()
    print(
        "| year | texts | levels kept | store | processor a text, with its thinning | tanks, a month, page |\n"
        + "| --- " * 6
        + "|"
    )
    with tempfile.TemporaryDirectory(prefix="levels-") as folder:
        file = Path(folder) / "gateway.db"
        with closing(open_store(f"sqlite:///{file}", "Quandong Ridge")) as store:
            for year in range(years):
                begun = time.process_time()
                for day in range(year * DAYS_A_YEAR, (year + 1) * DAYS_A_YEAR):
                    lives_a_day(store, site, day)
                each_ms = (time.process_time() - begun) / DAYS_A_YEAR / 24 * 1000
                now = BEGINS + (year + 1) * DAYS_A_YEAR * DAY
                with store.read() as reader:
                    tanks, month, page = asked(reader, site, now)
                    kept, texts = len(reader.events(kinds=("level",))), len(reader.texts())
                row = (year + 1, f"{texts:,}", f"{kept:,}", f"{file.stat().st_size / 1e6:.1f} MB", f"{each_ms:.2f} ms")
                print(
                    "| " + " | ".join(map(str, row)) + f" | {tanks:.0f} ms, {month:.0f} ms, {page:.0f} ms |", flush=True
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
