"""What does not depend on the machine: commits, statements, AT commands, flushes, modules, handles, threads. No time is asserted."""

import contextlib
import io
import json
import re
import shutil
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest

import gateway.storage.sqlite as sqlite_door
from gateway.__main__ import main
from gateway.facts import Text
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.load import load
from gateway.simulator import Habits
from gateway.site import compile_site
from gateway.storage import open_store
from tests.bench.programs import at_modem, environment, serving
from tests.bench.resting import Rest
from tests.faults.board import UNLIMITED, board
from tests.household import RIDGE, at_home, write_config

CONTACTS = 2


class Trace:
    """Every statement that reaches SQLite."""

    def __init__(self):
        self.said = []

    def count(self, beginning):
        """How many began so."""
        return sum(text.startswith(beginning) for text in self.said)


@pytest.fixture
def trace(monkeypatch):
    """Connections opened from now on are traced."""
    found, connect = Trace(), sqlite_door.connect

    def traced(file):
        connection = connect(file)
        connection.set_trace_callback(found.said.append)
        return connection

    monkeypatch.setattr(sqlite_door, "connect", traced)
    return found


def test_one_commit_a_text(tmp_path, trace):
    """A sign of life: one, that it is stored, and one that its slot is free again."""
    with board(tmp_path, rest=UNLIMITED) as home:
        home.hears(RIDGE, "STATION WELL first")
        trace.said.clear()
        home.hears(RIDGE, "STATION WELL 1")
        assert trace.count("BEGIN IMMEDIATE") == 2


def test_ten_texts_of_one_sweep_are_one_commit(tmp_path, trace):
    """Forty that waited on the SIM: four to store them, one for what was freed meanwhile."""
    with board(tmp_path, rest=UNLIMITED) as home:
        home.modem.capacity, home.modem.announces = 60, False
        for number in range(40):
            home.modem.deliver(RIDGE, f"STATION WELL {number}")
        home.daemon._modem.sweep()
        trace.said.clear()
        home.settle()
        assert len(home.texts("in")) == 40 and trace.count("BEGIN IMMEDIATE") <= 5


def test_one_commit_a_message(tmp_path, trace):
    """Two messages: the first claimed, then each answer with the next claim; a report that comes later has its own."""
    with board(tmp_path, rest=UNLIMITED) as home:
        home.hears(RIDGE, "LINE 1 BROKE 0001")
        trace.said.clear()
        home.hears(RIDGE, "LINE 1 MADE 0002")
        assert len(home.arrived()) == CONTACTS
        assert trace.count("BEGIN IMMEDIATE") <= 1 + 1 + 1 + 2 * CONTACTS


def test_a_look_at_what_is_due_writes_nothing(tmp_path, trace):
    """At rest: few questions, no write."""
    with board(tmp_path, rest=UNLIMITED) as home:
        home.hears(RIDGE, "LINE 1 BROKE 0001")
        trace.said.clear()
        home.daemon.step(0)
        assert trace.count("BEGIN IMMEDIATE") == 0
        assert trace.count("SELECT") <= 34


def test_statements_of_commands_do_not_grow_with_the_history(tmp_path, trace):
    """`tanks` and `history --since` ask the same after ten texts and after five hundred."""
    config = str(write_config(tmp_path))
    asked = []
    for texts in (10, 500):
        _import(config, texts)
        trace.said.clear()
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["tanks", "--config", config]) == 0
            tanks = trace.count("SELECT")
            assert main(["history", "--since", "1d", "--config", config]) == 0
        asked.append((tanks, trace.count("SELECT") - tanks))
    assert asked[0] == asked[1]
    assert asked[0][0] <= 25 and asked[0][1] <= 4


def test_no_question_reads_the_whole_history(tmp_path):
    """SQLite's own plan of every statement of `tanks`, `page` and a look: an index or a row, never a table from end to end."""
    config = str(write_config(tmp_path))
    _import(config, 50)
    said = _statements_of(config)
    store = open_store(load(config).settings.store.url, "Quandong Ridge")
    with store._database.reading() as connection:
        plans = {
            sql: [row[3] for row in sqlite_door.raw_of(connection).execute(f"EXPLAIN QUERY PLAN {sql}")]
            for sql in said
            if sql.startswith("SELECT")
        }
    store.close()
    scans = {
        sql: plan
        for sql, plan in plans.items()
        if any(re.match(r"SCAN (events|texts|arrivals|segments)\b", step) for step in plan)
    }
    assert len(plans) > 10 and not scans


def test_at_commands_per_text_and_message(tmp_path):
    """A text: its memory listed, its slot read and deleted. A message: one command, one PDU; its mode shows in what came just before."""
    with at_home(tmp_path, rest=UNLIMITED) as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 0")
        home.until(lambda: home.texts("in") and not home.modem.slots, "the first sweep and what it found are over")
        before = len(home.modem.commands)
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.until(lambda: len(home.texts("in")) == 2 and not home.modem.slots, "freed")
        text = home.modem.commands[before:]
        before = len(home.modem.commands)
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(CONTACTS)
        home.until(lambda: not home.modem.slots, "freed")
        message = [command for command in home.modem.commands[before:] if command.startswith(("AT+CMGS", "AT+CMGF"))]
    assert [command.partition("=")[0] for command in text] == ["AT+CMGL", "AT+CMGR", "AT+CMGD"]
    assert [command.partition("=")[0] for command in message] == ["AT+CMGS"] * CONTACTS


def test_flushes_per_text(tmp_path):
    """One flush to the disk makes a text durable."""
    if shutil.which("strace"):
        assert _flushes(tmp_path, 30) - _flushes(tmp_path, 10) == 20
    else:
        pytest.skip("no strace here; commits are counted above, each of which flushes (synchronous=FULL)")


@pytest.mark.parametrize(
    ("words", "packages", "modules"),
    [
        (("check",), {"pydantic", "phonenumbers", "regex", "sqlalchemy", "sqlite3"}, 158),
        (("tanks",), {"pydantic", "phonenumbers", "regex", "sqlalchemy", "sqlite3", "tabulate"}, 201),
        (
            ("history", "--since", "90d"),
            {"pydantic", "phonenumbers", "regex", "sqlalchemy", "sqlite3", "babel"},
            144,
        ),
    ],
)
def test_a_command_loads_what_it_needs(tmp_path, words, packages, modules):
    """No Alembic, no scheduler, no serial line for one that only reads; no SQLAlchemy for one that opens no store."""
    config = str(write_config(tmp_path))
    _import(config, 2)
    code = f"""
import json, sys
from gateway.__main__ import main
main({[*words, "--config", config]!r})
print(json.dumps(sorted(sys.modules)))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment(), check=True)
    loaded = json.loads(done.stdout.splitlines()[-1])
    libraries = {
        "sqlalchemy",
        "alembic",
        "apscheduler",
        "serial",
        "jinja2",
        "rapidfuzz",
        "babel",
        "pydantic",
        "phonenumbers",
        "regex",
        "sqlite3",
        "tabulate",
    }
    assert {module.partition(".")[0] for module in loaded} & libraries == packages
    assert len([module for module in loaded if module.startswith("gateway")]) <= modules


def test_handles_and_threads_at_rest(tmp_path):
    """Few, and as many after work as before it."""
    with at_modem(Habits()) as modem, serving(tmp_path, modem) as program:
        modem.network.deliver(RIDGE, "LINE 1 MADE 0001")
        program.said("send-ended", times=2)
        first = Rest(program.process.pid)
        for number in range(2, 6):
            modem.network.deliver(RIDGE, f"LINE 1 {('BROKE', 'MADE')[number % 2]} {number:04}")
            program.said("send-ended", times=2 * number)
        last = Rest(program.process.pid)
    assert last.handles <= max(first.handles, 17) and last.threads <= 3


def _import(config, texts):
    settings = load(config).settings
    site, store, now = compile_site(settings), open_store(settings.store.url, settings.site.name), datetime.now(UTC)
    with store.write() as tx:
        unit = UnitOfWork(tx=tx, site=site, now=now, imported=True)
        for number in range(texts):
            at = now - timedelta(days=40) + timedelta(minutes=number)
            said = f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}"
            read_text(
                unit, Text(number="+61491570006", text=said, at=at, heard_at=now, stamp=at), import_key=f"{number}"
            )
    store.close()


def _statements_of(config):
    """Every statement of a look at it all."""
    from gateway.page import make_page
    from gateway.status.next_due import next_due

    settings = load(config).settings
    site, store, now = compile_site(settings), open_store(settings.store.url, settings.site.name), datetime.now(UTC)
    said = Trace()
    with store._database.reading() as connection:
        sqlite_door.raw_of(connection).set_trace_callback(said.said.append)
    with store.read() as reader:
        make_page(reader, site, now)
        next_due(reader, site, now, verdicts=True)
        reader.sent_segments(1, "+61491570156")
        reader.stored_in_slot("k", "SM", 1)
        reader.last_arrival("k")
        reader.others_since(1, "+61491570156")
    store.close()
    return set(said.said)


FLUSHING = """
import sys
from gateway.clock import SystemClock
from gateway.facts import HeldPdu
from gateway.site import compile_site
from gateway.handlers.receive import receive
from gateway.service.clock_watch import ClockWatch
from gateway.modem.pdu import decode
from gateway.simulator.pdus import deliver_pdus
from gateway.settings.load import load
from gateway.storage import open_store
settings, clock = load(sys.argv[1]).settings, SystemClock()
house, store, watch = compile_site(settings), open_store(settings.store.url, settings.site.name), ClockWatch(clock)
for number in range(int(sys.argv[2])):
    pdu = deliver_pdus("+61491570006", f"STATION WELL {number}", clock.now())[0]
    receive(store, lambda tx: watch.unit(tx, house), HeldPdu(memory="SM", slot=number, pdu=pdu, content=decode(pdu)))
os = __import__("os")
os._exit(0)
"""


def _flushes(folder, texts):
    home = folder / str(texts)
    home.mkdir()
    config, log = str(write_config(home)), home / "strace"
    words = [
        "strace",
        "-f",
        "-o",
        str(log),
        "-e",
        "trace=fsync,fdatasync",
        sys.executable,
        "-c",
        FLUSHING,
        config,
        str(texts),
    ]
    done = subprocess.run(words, env=environment(), capture_output=True, text=True)
    if done.returncode != 0 and "ptrace" in done.stderr:
        pytest.skip("strace may not trace here; commits are counted above, each of which flushes (synchronous=FULL)")
    assert done.returncode == 0, done.stderr
    return len(re.findall(r"sync\(", log.read_text()))
