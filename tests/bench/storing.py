"""PDUs → stored with all that follows, against bare commits of one row, both durable (WAL, FULL)."""

import sqlite3
import time
from datetime import timedelta
from statistics import median
from typing import Any

from gateway.clock import SystemClock
from gateway.facts import HeldPdu
from gateway.handlers.receive import receive
from gateway.modem.pdu import decode
from gateway.service.clock_watch import ClockWatch
from gateway.settings.load import load
from gateway.simulator.pdus import deliver_pdus
from gateway.site import compile_site
from gateway.storage import open_store
from tests.bench.figure import Figure, Run
from tests.bench.programs import UNLIMITED
from tests.household import RIDGE, write_config


def measure(run: Run) -> list[Figure]:
    """Signs of life, and switches of a float with their two messages: the middle of several rounds, taken in turn, for a flush takes
    now more and now less."""
    texts, rounds = (50, 1) if run.short else (500, 9)
    kinds = ("STATION WELL {0}", "LINE 1 {1} {0}")
    turns = [[_bare(run, texts), *(_stored(run, texts, kind) for kind in kinds)] for _ in range(rounds)]
    bare, alive, switches = (median(rates) for rates in zip(*turns, strict=True))
    floor: dict[str, Any] = {
        "floor": bare,
        "floor_is": "bare sqlite3, one INSERT and one commit a text",
        "unit": "texts/s",
    }
    return [
        Figure(what="signs of life stored", ours=alive, least=0.3, **floor),
        Figure(what="switches stored, two messages each", ours=switches, **floor),
    ]


def _bare(run: Run, texts: int) -> float:
    store = sqlite3.connect(run.fresh("storing") / "bare.db", isolation_level=None)
    for said in ("PRAGMA journal_mode=WAL", "PRAGMA synchronous=FULL", "CREATE TABLE texts (sender, at, text)"):
        store.execute(said)
    began = time.perf_counter()
    for number in range(texts):
        store.execute("INSERT INTO texts VALUES (?, ?, ?)", (RIDGE, number, f"STATION WELL {number}"))
    took = time.perf_counter() - began
    store.close()
    return texts / took


def _stored(run: Run, texts: int, text: str) -> float:
    settings = load(str(write_config(run.fresh("storing"), rest=UNLIMITED))).settings
    site, clock = compile_site(settings), SystemClock()
    watch = ClockWatch(clock)
    store = open_store(settings.store.url, settings.site.name)
    stamp = clock.now() - timedelta(hours=1)
    pdus = [deliver_pdus(RIDGE, text.format(n, ("MADE", "BROKE")[n % 2]), stamp)[0] for n in range(texts)]
    began = time.perf_counter()
    for number, pdu in enumerate(pdus):
        held = HeldPdu(memory="SM", slot=number, pdu=pdu, content=decode(pdu))
        receive(store, lambda tx: watch.unit(tx, site), held)
    took = time.perf_counter() - began
    store.close()
    return texts / took
