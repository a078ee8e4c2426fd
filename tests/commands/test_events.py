"""Events as JSON lines: the same documents in `history --json`, `history --jsonl` and `events`; a stream that goes on as they are stored."""

import json
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.commands import events as command
from gateway.facts import Event
from gateway.storage import open_store
from tests.household import write_config

NOW = datetime(2026, 3, 3, 22, 30, tzinfo=UTC)
ENDS_WITHIN_S = 120


@pytest.fixture
def record(tmp_path):
    """A store of three events; the second to be stored happened last."""
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge")
    for minutes in (0, 90, 30):
        store_event(store, minutes)
    yield store
    store.close()


@pytest.fixture
def config(tmp_path):
    """The household's file."""
    return str(write_config(tmp_path))


def store_event(store, minutes):
    """One more, which happened so many minutes after the first."""
    at = NOW + timedelta(minutes=minutes)
    with store.write() as tx:
        tx.keep_event(Event(kind="note", at=at, heard_at=at, known_at=at, text=f"{minutes} min\x1b[2J"))


def printed(capsys, *words):
    """The lines that a command prints."""
    assert main([*words]) == 0
    return capsys.readouterr().out.splitlines()


def test_one_schema_in_every_form(record, config, capsys):
    """A line holds what a row of `history --json` holds, and nothing that moves a terminal's cursor."""
    listed = json.loads("".join(printed(capsys, "history", "--json", "--config", config)))["events"]
    lines = printed(capsys, "history", "--jsonl", "--config", config)
    assert [json.loads(line) for line in lines] == listed and "\x1b" not in "".join(lines)
    assert [event["text"].split("\\")[0] for event in listed] == ["0 min", "30 min", "90 min"]
    stored = [json.loads(line) for line in printed(capsys, "events", "--config", config)]
    assert stored == sorted(listed, key=lambda event: event["id"])


@pytest.mark.parametrize(("after", "minutes"), [(0, [0, 90, 30]), (1, [90, 30]), (2, [30]), (3, []), (900, [])])
@pytest.mark.parametrize("at_once", [1, 2, 3, 500])
def test_after_an_event(record, config, capsys, monkeypatch, after, minutes, at_once):
    """Whoever read that one gets the next, and however many are read at once."""
    monkeypatch.setattr(command, "AT_ONCE", at_once)
    lines = printed(capsys, "events", "--after", str(after), "--config", config)
    assert [json.loads(line)["text"].split()[0] for line in lines] == list(map(str, minutes))


@pytest.mark.parametrize("id", ["-1", "last", "1.5", "99999999999"])
def test_an_id_that_cannot_be(id, capsys):
    """Said with what would be right."""
    with pytest.raises(SystemExit) as ended:
        main(["events", "--after", id])
    assert ended.value.code == 2 and "1042" in capsys.readouterr().err


@pytest.mark.parametrize(("words", "first"), [(("--after", "2"), "30"), ((), "7")])
def test_follow_goes_on_as_they_are_stored_and_ends_with_its_reader(record, config, words, first):
    """Without `--after` from now on; nothing is said on standard error when the reader has seen enough."""
    command_line = [sys.executable, "-m", "gateway", "events", "--follow", *words, "--config", config]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    follower = subprocess.Popen(command_line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment)
    try:
        texts = [json.loads(follower.stdout.readline())["text"]] if words else []
        while not texts:  # what is stored before it looks first is not its business
            store_event(record, 7)
            if command.select.select([follower.stdout], [], [], 1.0)[0]:
                texts.append(json.loads(follower.stdout.readline())["text"])
        store_event(record, 8)
        while not texts[-1].startswith("8"):
            texts.append(json.loads(follower.stdout.readline())["text"])
        follower.stdout.close()
        assert follower.wait(ENDS_WITHIN_S) == 0 and follower.stderr.read() == b""
        assert texts[0].split()[0] == first and texts[-1].split()[0] == "8"
    finally:
        follower.kill()
        follower.wait()
        follower.stderr.close()
