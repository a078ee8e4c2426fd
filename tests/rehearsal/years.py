"""A small household lived through for years by the very daemon: what each year took, and what it left.

`python -m tests.rehearsal.years [YEARS]` prints the table that stands in `tests/bench/BENCH.md`.
"""

import gc
import logging
import os
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from gateway.page import make_page
from gateway.rehearsal.lived_through import BEGINS, Lived, live_through
from gateway.settings.load import load_text
from gateway.site import compile_site
from gateway.status.snapshot import take_snapshot
from gateway.storage import open_store

SMALL = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
[modem]
device = "simulated"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
rules = [
  { text = "LINE {input} {state} *", means = "input", active = ["MADE"], idle = ["BROKE"] },
  { text = "CALM *", means = "alive" },
]
[[tanks]]
id = "house"
name = "House tank behind the wool shed"
shape = { kind = "litres", litres = 600, height_m = 1.5 }
floats = [ { controller = "ridge", input = 1, level_m = 0.6 } ]
[source]
pump = { kind = "steady", flow_l_min = 0.75 }
[demand]
people = 4
[limits]
segments = 2
price_per_segment = 0.1
[digest]
day = "sunday"
contacts = ["wren"]
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
quiet = "22:00-06:30"
"""
DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """How things stood after so many days. Sizes in octets; `questions_s`: processor time of the tanks, a month's history and the page."""

    days: float
    wall_s: float
    processor_s: float
    resident: int
    handles: int
    threads: int
    store: int
    written: int
    journal_lines: int
    backups: int
    questions_s: tuple[float, float, float]


class _Journal(logging.Handler):
    """Counts lines."""

    lines = 0

    def emit(self, record: logging.LogRecord) -> None:
        """One more."""
        self.lines += 1


def live(
    folder: Path, days: float, every: float, *, seed: int = 6, stories: Sequence[str] = ()
) -> tuple[Lived, list[Sample]]:
    """So many days, with a sample after each `every` of them."""
    settings = load_text(SMALL, "small.toml").settings
    journal, log = _Journal(), logging.getLogger("gateway")
    before = log.level, log.propagate
    log.addHandler(journal)
    log.setLevel(logging.INFO)
    log.propagate = False  # pytest keeps every line that reaches the root, and memory is measured here
    samples: list[Sample] = []
    begun = time.perf_counter(), time.process_time()

    def look(share: float) -> None:
        if share * days >= every * (len(samples) + 1):
            samples.append(_sample(folder, share * days, journal.lines, begun))

    try:
        lived = live_through(settings, folder, days=days, seed=seed, stories=stories, with_backups=True, progress=look)
    finally:
        log.removeHandler(journal)
        log.setLevel(before[0])
        log.propagate = before[1]
    return lived, samples


def _sample(folder: Path, days: float, journal_lines: int, begun: tuple[float, float]) -> Sample:
    gc.collect()
    status = {
        line.split(":")[0]: line.split()[1]
        for line in Path("/proc/self/status").read_text().splitlines()
        if len(line.split()) > 1
    }
    io = dict(line.split(": ") for line in Path("/proc/self/io").read_text().splitlines())
    return Sample(
        days=days,
        wall_s=time.perf_counter() - begun[0],
        processor_s=time.process_time() - begun[1],
        resident=int(status["VmRSS"]) * 1024,
        handles=len(os.listdir("/proc/self/fd")),  # noqa: PTH208  # counted, not walked
        threads=threading.active_count(),
        store=sum(file.stat().st_size for file in folder.glob("gateway.db*")),
        written=int(io["write_bytes"]),
        journal_lines=journal_lines,
        backups=len(list((folder / "backups").iterdir())),
        questions_s=_questions(folder, days),
    )


def _questions(folder: Path, days: float) -> tuple[float, float, float]:
    """The best of three of each."""
    settings = load_text(SMALL, "small.toml").settings
    site = compile_site(settings)
    now = BEGINS.replace(tzinfo=site.zone) + timedelta(days=days)
    with (
        closing(open_store(f"sqlite:///{folder / 'gateway.db'}", settings.site.name, check=False)) as store,
        store.read() as reader,
    ):
        return (
            _best(lambda: take_snapshot(reader, site, now)),
            _best(lambda: reader.events(since=now - timedelta(days=30))),
            _best(lambda: make_page(reader, site, now)),
        )


def _best(work: Callable[[], object]) -> float:
    seconds = []
    for _ in range(3):
        begun = time.thread_time()
        work()
        seconds.append(time.thread_time() - begun)
    return min(seconds)


def table(samples: Sequence[Sample]) -> str:
    """Markdown, a year a row."""
    lines = [
        "| year | wall | processor | resident | handles, threads | store | written a day | journal lines a day | tanks, a month, page |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    before = None
    for year, now in enumerate(samples, start=1):
        span = DAYS_A_YEAR
        wall, processor, written, journal = (
            getattr(now, name) - (getattr(before, name) if before is not None else 0)
            for name in ("wall_s", "processor_s", "written", "journal_lines")
        )
        asked = ", ".join(f"{seconds * 1000:.0f} ms" for seconds in now.questions_s)
        lines.append(
            f"| {year} | {wall:.0f} s | {processor:.1f} s | {now.resident / 1e6:.1f} MB | {now.handles}, {now.threads} | "
            f"{now.store / 1e6:.2f} MB | {written / span / 1000:.0f} kB | {journal / span:.1f} | {asked} |"
        )
        before = now
    return "\n".join(lines)


if __name__ == "__main__":
    years = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    with tempfile.TemporaryDirectory(prefix="years-") as kept:
        print(table(live(Path(kept), years * DAYS_A_YEAR, DAYS_A_YEAR - 0.5)[1]))
