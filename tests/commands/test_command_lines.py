"""Each command line that a household may write → what is made of it; each that it may not."""

import shlex

import pytest

from gateway.commands.argument_parser import command_line, parse

EVERYWHERE = {"config": "/etc/tank-gateway/gateway.toml", "json": False}
LINES = [
    ("serve", {"trace": None, "modem": "plain"}),
    ("serve --trace t --modem chatters", {"trace": "t", "modem": "chatters"}),
    ("rehearse", {"folder": None, "fast": False, "days": None, "seed": 1, "stories": "", "clock": "", "modem": "plain"}),
    (
        "rehearse --folder f --fast --days 1.5 --seed 2 --with leak,winter --clock steps --modem phase-2",
        {"folder": "f", "fast": True, "days": 1.5, "seed": 2, "stories": "leak,winter", "clock": "steps", "modem": "phase-2"},
    ),
    ("simulate 'LINE 1 MADE' --from 0491570006", {"text": "LINE 1 MADE", "sender": "0491570006"}),
    ("begin", {}),
    ("check", {}),
    ("explain", {"text": None, "sender": None, "stranger": False, "fresh": False}),
    ("explain x --from wren --stranger --fresh", {"text": "x", "sender": "wren", "stranger": True, "fresh": True}),
    ("suggest f", {"file": "f"}),
    ("phrases", {"language": None, "kind": None, "voice": False}),
    ("phrases --language de --kind low --voice", {"language": "de", "kind": "low", "voice": True}),
    ("schema", {"mqtt": False}),
    ("schema --mqtt", {"mqtt": True}),
    ("modem", {"report": None, "device": None}),
    ("modem --report f --device /dev/ttyUSB2", {"report": "f", "device": "/dev/ttyUSB2"}),
    ("doctor --text wren", {"contact": "wren"}),
    ("tanks --at 07:00", {"at": "07:00"}),
    ("alarms --why", {"why": True}),
    ("history", {"since": None, "last": None, "tank": None, "csv": False, "jsonl": False, "figures": False}),
    ("history --since 7d --last 20 --tank house --csv", {"since": "7d", "last": 20, "tank": "house", "csv": True}),
    ("history --jsonl --figures", {"jsonl": True, "figures": True}),
    ("texts --since 7d --last 999999999", {"since": "7d", "last": 999_999_999}),
    ("water", {}),
    ("power", {}),
    ("page f", {"file": "f", "full": False, "force": False}),
    ("page f --full --force", {"full": True, "force": True}),
    ("calendar f", {"file": "f", "force": False}),
    ("calendar f --force", {"force": True}),
    ("house-book f", {"file": "f", "force": False}),
    ("house-book f --force", {"force": True}),
    ("import f", {"file": "f", "sender": None, "dates": None}),
    ("import - --from ridge --dates day-first", {"file": "-", "sender": "ridge", "dates": "day-first"}),
    ("read-again", {"since": None, "yes": False}),
    ("read-again --since monday --yes", {"since": "monday", "yes": True}),
    ("note x", {"text": "x"}),
    ("over house", {"tank": "house"}),
    ("errand", {"controller": None, "id": None, "yes": False, "first": False}),
    ("errand ridge status --yes", {"controller": "ridge", "id": "status", "yes": True}),
    ("errand ridge --first", {"controller": "ridge", "id": None, "first": True}),
    ("drill --to wren", {"contact": "wren"}),
    ("walk", {"tank": None, "contact": None, "wait": "10m", "sheet": None}),
    ("walk --tank house --to wren --wait 5m --sheet f", {"tank": "house", "contact": "wren", "wait": "5m", "sheet": "f"}),
    ("watch", {"contact": None, "until": None}),
    ("watch robin --until sunday", {"contact": "robin", "until": "sunday"}),
    ("away", {"until": None, "back": False}),
    ("away --until sunday --back", {"until": "sunday", "back": True}),
    ("pause house 4h", {"tank": "house", "duration": "4h"}),
    ("backup f", {"file": "f", "all": False, "with_credentials": False}),
    ("backup f --all --with-credentials", {"all": True, "with_credentials": True}),
    ("restore f", {"file": "f", "configuration": False}),
    ("restore f --configuration", {"configuration": True}),
    ("forget 0491570156", {"number": "0491570156"}),
]  # fmt: skip


@pytest.mark.parametrize(("line", "expected"), LINES, ids=[line for line, _ in LINES])
def test_a_line_and_what_is_made_of_it(line, expected):
    """Every command takes --config and --json."""
    known = vars(parse(shlex.split(line)))
    assert {**known, **EVERYWHERE, **expected} == known and known["command"] == line.split()[0]
    elsewhere = vars(parse([*shlex.split(line), "--config", "c", "--json"]))
    assert (elsewhere["config"], elsewhere["json"]) == ("c", True)


def test_events_are_json_lines_already():
    """And take no --json; `help` reads no configuration."""
    assert vars(parse(["events"])) == {
        "command": "events",
        "config": EVERYWHERE["config"],
        "follow": False,
        "after": None,
    }
    followed = vars(parse(["events", "--follow", "--after", "0", "--config", "c"]))
    assert followed == {"command": "events", "config": "c", "follow": True, "after": 0}
    assert vars(parse(["help", "page"])) == {"command": "help", "of": "page"}


def test_every_command_has_a_line_here():
    """So that none can lose an argument without a word."""
    tried = {line.split()[0] for line, _ in LINES} | {"events", "help"}
    assert tried == set(command_line()[1].choices)


@pytest.mark.parametrize(
    "line",
    [
        "", "simulate x", "history --last 0", "history --last 1000000000", "texts --last x", "events --after -1",
        "events --after 1000000000", "events --json", "import f --dates year-first", "page", "pause house", "rehearse --days x",
    ],
)  # fmt: skip
def test_what_cannot_be_meant_ends_with_two(line, capsys):
    """And says so on standard error."""
    with pytest.raises(SystemExit) as ended:
        parse(shlex.split(line))
    assert ended.value.code == 2 and capsys.readouterr().err


def test_the_version_is_told(capsys):
    """And nothing else is done."""
    with pytest.raises(SystemExit) as ended:
        parse(["--version"])
    assert ended.value.code == 0 and capsys.readouterr().out.startswith("tank-gateway ")
