"""Twenty years of history → what the commands take, and whether what looks at now grows with it.

One box sends 750 texts a year (15,000 in twenty); a chatty scheme 10,000 (200,000).
"""

import csv
import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from tests.bench.figure import Figure, Run
from tests.bench.programs import GATEWAY
from tests.bench.starting import processor, took
from tests.household import RIDGE, write_config

QUIET, CHATTY = 750, 10_000
"""Texts a year."""
LOOKING = (("tanks",), ("history", "--since", "30d"), ("page",), ("backup",))
FLAT = ("tanks", "history", "page")


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """A store with a history of so many years."""

    label: str
    first: str
    config: Path
    store: Path


def measure(run: Run) -> list[Figure]:
    """One box over 1, 5, 10 and 20 years, and a chatty scheme over 1 and 20; looked at in turn, the best of several."""
    kinds = [(years, QUIET) for years in ((1, 2) if run.short else (1, 5, 10, 20))]
    kinds += [] if run.short else [(1, CHATTY), (20, CHATTY)]
    figures: list[Figure] = []
    pasts = [_made(run, years, a_year, figures) for years, a_year in kinds]
    for words in LOOKING:
        turns = [[_looked(past, words) for past in pasts] for _ in range(1 if run.short else 5)]
        best = {past.label: min(seconds) for past, seconds in zip(pasts, zip(*turns, strict=True), strict=True)}
        for past in pasts:
            flat = {"most": 1.2, "floor": best[past.first], "floor_is": "after the first year"}
            copied = {"floor": _copied(past.store, run.folder / "copy.db"), "floor_is": "a copy of the file, flushed"}
            more: dict[str, Any] = flat if words[0] in FLAT else copied
            what = f"{past.label}: {words[0]}" + (", processor" if words[0] in FLAT else "")
            figures.append(Figure(what=what, ours=best[past.label], unit="s", **more))
    return figures


def _made(run: Run, years: int, a_year: int, figures: list[Figure]) -> Past:
    folder = run.place(f"years-{years}-{a_year}")
    config, file, store = write_config(folder), folder / "old.csv", folder / "gateway.db"
    _write(file, years, a_year)
    label = f"{years} years, {years * a_year} texts"
    imported = took((*GATEWAY, "import", str(file), "--config", str(config)))
    floor, size = _bare(file, folder / "bare.db")
    figures += [
        Figure(what=f"{label}: import", ours=imported, floor=floor, unit="s", floor_is="bare sqlite3, one row a text"),
        Figure(what=f"{label}: store", ours=store.stat().st_size / 1e6, floor=size, unit="MB", floor_is="the bare one"),
    ]
    return Past(label=label, first=f"1 years, {a_year} texts", config=config, store=store)


def _looked(past: Past, words: tuple[str, ...]) -> float:
    more = {"page": ("p.html",), "backup": ("b.db",)}.get(words[0], ())
    files = [str(past.store.with_name(name)) for name in more]
    measured = processor if words[0] in FLAT else took
    return measured((*GATEWAY, *words, *files, "--config", str(past.config)))


def _write(file: Path, years: int, a_year: int) -> None:
    """A year after the other: the float to and fro, the supply, a sign of life a day."""
    with file.open("w", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(("received_at", "sender", "text"))
        for at, text in _texts(years, a_year):
            writer.writerow((at.isoformat(), RIDGE, text))


def _texts(years: int, a_year: int) -> Iterator[tuple[datetime, str]]:
    every = timedelta(days=365.25) / a_year
    count = years * a_year
    start = datetime.now(UTC).replace(microsecond=0) - count * every - timedelta(hours=1)
    for number in range(count):
        kinds = (
            f"LINE {1 + number // 8 % 2} {('MADE', 'BROKE')[number // 4 % 2]} {number:06}",
            f"STATION WELL {number:06}",
        )
        yield start + number * every, kinds[number % 4 != 0] + (" SUPPLY 12.6 V" if number % 4 == 1 else "")


def _bare(file: Path, store: Path) -> tuple[float, float]:
    """Seconds and megabytes of one row a text, a commit for every 500."""
    began = time.perf_counter()
    connection = sqlite3.connect(store)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("CREATE TABLE texts (id INTEGER PRIMARY KEY, at, sender, text)")
    with file.open() as source:
        for number, row in enumerate(csv.reader(source)):
            connection.execute("INSERT INTO texts (at, sender, text) VALUES (?, ?, ?)", row)
            if number % 500 == 0:
                connection.commit()
    connection.commit()
    connection.close()
    return time.perf_counter() - began, store.stat().st_size / 1e6


def _copied(store: Path, to: Path) -> float:
    began = time.perf_counter()
    shutil.copyfile(store, to)
    descriptor = os.open(to, os.O_RDONLY)
    os.fsync(descriptor)
    os.close(descriptor)
    return time.perf_counter() - began
