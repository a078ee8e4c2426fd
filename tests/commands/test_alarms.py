"""`alarms`: what stands, who was told and has it, what comes next, as a person reads it and as the contract's JSON; and the table of kinds."""

import json
from datetime import UTC, datetime, timedelta
from functools import partial

import pytest

from gateway.__main__ import main
from gateway.handlers.due import do_what_is_due
from tests.handlers.days import Days
from tests.household import WREN

NOW, H = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1)
KEYS = {
    "id", "kind", "tank", "controller", "priority", "state", "since", "says", "taken_by", "taken_at", "next", "told", "folded"
}  # fmt: skip


@pytest.fixture
def days(tmp_path):
    """The household, told of everything at once, with reminders and two named taps."""
    made = Days(tmp_path, rest='[call_out]\nremind_every = "1h"\n[bleed]\ntaps = ["laundry", "kitchen"]\n')
    yield made
    made.store.close()


def alarms(days, capsys, *more):
    """What the command prints."""
    assert main(["alarms", "--config", str(days.folder / "gateway.toml"), *more]) == 0
    return capsys.readouterr().out


def of_house(days, capsys):
    """What stands of the house tank."""
    return [alarm for alarm in json.loads(alarms(days, capsys, "--json"))["alarms"] if alarm["tank"] == "house"]


def test_nothing_stands(days, capsys):
    """It is said, and the list is empty."""
    assert alarms(days, capsys) == "Nothing stands.\n"
    assert json.loads(alarms(days, capsys, "--json"))["alarms"] == []


def test_each_alarm_as_the_contract_has_it(days, capsys):
    """A low tank nobody has: told to two, with the next reminder; and what is folded in it."""
    for text in ("LINE 1 MADE 0717", "LINE 2 MADE 0718"):
        days.comes(NOW, text)
    (alarm,) = json.loads(alarms(days, capsys, "--json"))["alarms"]
    assert set(alarm) == KEYS
    assert (alarm["kind"], alarm["tank"], alarm["priority"], alarm["state"]) == ("low", "house", "urgent", "open")
    assert alarm["since"] == "2026-06-01T12:00:00+10:00" and "House tank LOW" in alarm["says"]
    assert alarm["taken_by"] is None and alarm["taken_at"] is None
    assert set(alarm["next"]) == {"what", "at"}
    assert {told["contact"] for told in alarm["told"]} == {"wren", "robin"}
    assert all(set(told) == {"contact", "at", "state", "answered_at"} for told in alarm["told"])
    assert [(folded["kind"], folded["tank"]) for folded in alarm["folded"]] == [("low", "spring")]
    assert set(alarm["folded"][0]) == {"kind", "tank", "controller", "since"}


def test_a_person_reads_who_was_told_and_what_comes_next(days, capsys):
    """Names and local times, within eighty columns."""
    days.comes(NOW, "LINE 1 MADE 0717")
    shown = alarms(days, capsys)
    assert "urgent, open: House tank LOW" in " ".join(shown.split())
    assert "told Wren 2026-06-01 12:00 (waiting)" in shown and "next: " in shown
    assert max(len(line) for line in shown.splitlines()) <= 80


def test_dry_taps_show_their_steps(days, capsys):
    """An alarm of the house, with every step and the one that is next."""
    for text in ("DRY", "NEXT", "NEXT"):
        days.comes(NOW, text, number=WREN)
    (alarm,) = json.loads(alarms(days, capsys, "--json"))["alarms"]
    assert (alarm["kind"], alarm["priority"], alarm["step"]) == ("ran-dry", "urgent", 3)
    assert [step[:6] for step in alarm["steps"]] == ["1 of 5", "2 of 5", "3 of 5", "4 of 5", "5 of 5"]
    assert "now step 3 of 5: Open the laundry tap" in " ".join(alarms(days, capsys).split())
    days.comes(NOW + H, "SAFE", number=WREN)
    assert json.loads(alarms(days, capsys, "--json"))["alarms"] == []


def test_an_end_that_is_reckoned_stands_as_such(days, capsys):
    """Nobody has heard that it is over: it is listed until somebody does, or says so by the command line."""
    days.configure(idle="", controller='silence_after = "off"')
    days.comes(NOW, "LINE 1 MADE 0717")
    for day in range(12):
        days.at(NOW + timedelta(days=day, hours=1), partial(do_what_is_due, verdicts=True))
    assert [(alarm["state"], alarm["next"]) for alarm in of_house(days, capsys)] == [("reckoned-over", None)]
    assert main(["over", "house", "--config", str(days.folder / "gateway.toml")]) == 0
    assert "well again" in capsys.readouterr().out
    assert of_house(days, capsys) == []


@pytest.mark.parametrize(
    ("rest", "kind", "priority"),
    [
        ("", "low", "urgent"),
        ("", "ran-dry", "urgent"),
        ("", "high", "record"),
        ("", "silent", "soon"),
        ('[alarms.battery-low]\npriority = "urgent"\n', "battery-low", "urgent"),
        ('[call_out]\nurgent = ["high"]\n', "high", "urgent"),
    ],
)
def test_why_names_every_kind_with_what_to_do(tmp_path, capsys, rest, kind, priority):
    """Consequence, time to respond, priority as the household has it, and what to do."""
    days = Days(tmp_path, rest=rest)
    days.store.close()
    kinds = {row["kind"]: row for row in json.loads(alarms(days, capsys, "--why", "--json"))["kinds"]}
    assert {"low", "silent", "ran-dry", "power-lost", "battery-low", "high"} <= set(kinds)
    assert kinds[kind]["priority"] == priority
    assert all(set(row) == {"kind", "priority", "consequence", "respond_within", "do"} for row in kinds.values())
    assert all(all(row.values()) for row in kinds.values())
    assert "what to do" in alarms(days, capsys, "--why")
