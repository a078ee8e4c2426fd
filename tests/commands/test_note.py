"""`note`: what a command puts on record goes through the one door that everything goes through, and tells nobody."""

import ast
import json
from pathlib import Path

import gateway.commands
from gateway.__main__ import main
from tests.household import write_config


def test_a_note_is_on_record_and_told_to_nobody(tmp_path, capsys):
    """Its words with single spaces, at its time, and no message in the outbox."""
    config = str(write_config(tmp_path))
    assert main(["note", "cleaned  the\nintake", "--json", "--config", config]) == 0
    kept = json.loads(capsys.readouterr().out)["id"]
    assert main(["history", "--json", "--config", config]) == 0
    (event,) = json.loads(capsys.readouterr().out)["events"]
    assert (event["id"], event["kind"], event["text"]) == (kept, "note", "cleaned the intake")
    assert event["at"] == event["heard_at"]
    assert main(["texts", "--json", "--config", config]) == 0
    assert json.loads(capsys.readouterr().out) == {"texts": []}


def test_no_command_has_a_door_of_its_own_to_the_record():
    """An event is kept, and a message put, by handlers alone: what follows from one would else be missing where a command did it."""
    own_doors = [
        (file.name, node.attr)
        for file in Path(gateway.commands.__file__).parent.glob("*.py")
        for node in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in ("keep_event", "put_message", "keep_text", "set_mark")
    ]
    assert own_doors == []
