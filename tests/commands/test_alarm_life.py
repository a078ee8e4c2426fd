"""The life of one alarm as `alarms --json` shows it, by the letter of the contract: every field, after each thing that happens to it."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import get_args

import pytest

from gateway.__main__ import main
from gateway.alarms.next_step import What
from gateway.commands.alarms import NEXT_WORDS
from gateway.facts.states.controllers_and_tanks import ReckonedEnd
from gateway.handlers.due import do_what_is_due
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

NOON = datetime(2026, 6, 1, 2, 0, tzinfo=UTC)
M, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def days(tmp_path):
    """Two people by turns; the spring tank feeds the house tank. No source, so that no second call falls into the story."""
    calls = '[call_out]\ntake_within = "15m"\nremind_every = "2h"\nwarn_before_dry = "0s"\n'
    made = Days(tmp_path, robin="turn = 2", rest=calls)
    made.comes(NOON - DAY, "LINE 1 BROKE 0")
    yield made
    made.store.close()


def home(at):
    """As JSON has it."""
    return (at + 10 * H).strftime("%Y-%m-%dT%H:%M:%S+10:00")


def told(contact, at, state, answered_at=None):
    """One of `told`."""
    answered = None if answered_at is None else home(answered_at)
    return {"contact": contact, "at": home(at), "state": state, "answered_at": answered}


@pytest.fixture
def shown(days, capsys):
    """shown() → the alarm that the command lists first, without what it says, which must begin as given."""

    def ask(says="House tank LOW since"):
        assert main(["alarms", "--json", "--config", str(days.folder / "gateway.toml")]) == 0
        document = json.loads(capsys.readouterr().out)
        assert {"at", "alarms"} <= set(document)
        alarm = document["alarms"][0]
        assert alarm.pop("says").startswith(says) and isinstance(alarm.pop("id"), int)
        return alarm

    return ask


def due(days, now):
    """What is due then is done, and what may leave leaves."""
    days.at(now, lambda unit: do_what_is_due(unit, verdicts=False))
    days.leaves(now)


def test_from_raised_to_over(days, shown, capsys):
    """Open, its cause folded in it, passed on, taken, come back, unanswered, held by work, told anew, over."""
    alarm = {
        "kind": "low", "tank": "house", "controller": "ridge", "priority": "urgent", "state": "open", "since": home(NOON),
        "taken_by": None, "taken_at": None, "next": {"what": "next-turn", "at": home(NOON + 15 * M)},
        "told": [told("wren", NOON, "waiting")], "folded": [],
    }  # fmt: skip
    days.comes(NOON, "LINE 1 MADE 1")
    assert shown() == alarm
    days.leaves(NOON)
    alarm["told"] = [told("wren", NOON, "sent")]
    assert shown() == alarm
    days.comes(NOON + M, "LINE 2 MADE 2")
    days.leaves(NOON + M)
    alarm["folded"] = [{"kind": "low", "tank": "spring", "controller": "ridge", "since": home(NOON + M)}]
    changed = shown()
    assert changed["folded"] == alarm["folded"] and changed["next"] == alarm["next"]
    due(days, NOON + 15 * M)
    passed = shown()
    assert [(text["contact"], text["at"]) for text in passed["told"]] == [
        ("wren", home(NOON)),
        ("robin", home(NOON + 15 * M)),
    ]
    assert (passed["state"], passed["next"]) == ("open", {"what": "next-turn", "at": home(NOON + 30 * M)})
    days.comes(NOON + 20 * M, "OK", number=ROBIN)
    days.leaves(NOON + 20 * M)
    taken = shown()
    assert {name: taken[name] for name in ("state", "taken_by", "taken_at", "next")} == {
        "state": "taken", "taken_by": "robin", "taken_at": home(NOON + 20 * M),
        "next": {"what": "comes-back", "at": home(NOON + 20 * M + 8 * H)},
    }  # fmt: skip
    assert {text["contact"]: text["answered_at"] for text in taken["told"]} == {
        "wren": None, "robin": home(NOON + 20 * M)
    }  # fmt: skip
    back = NOON + 20 * M + 8 * H
    due(days, back)
    assert (shown()["state"], shown()["taken_by"], shown()["taken_at"]) == ("open", None, None)
    for later in (15 * M, 30 * M, 45 * M):
        due(days, back + later)
    left = shown()
    assert (left["state"], left["next"]["what"]) == ("unanswered", "reminder")
    days.comes(back + H, "WORK house 2h", number=WREN)
    held = shown()
    assert (held["state"], held["next"]) == ("held", {"what": "work-over", "at": home(back + 3 * H)})
    due(days, back + 3 * H)
    assert (shown()["state"], shown()["since"]) == ("open", home(NOON))
    for text in ("LINE 1 BROKE 3", "LINE 2 BROKE 4"):
        days.comes(back + 4 * H, text)
    assert main(["alarms", "--json", "--config", str(days.folder / "gateway.toml")]) == 0
    assert not [alarm for alarm in json.loads(capsys.readouterr().out)["alarms"] if alarm["tank"] is not None]


@pytest.mark.parametrize(
    ("text", "kind", "priority", "tank", "says"),
    [
        ("LINE 2 MADE 1", "low", "soon", "spring", "Spring tank LOW since"),
        ("MAINS GONE", "power-lost", "soon", None, "Ridge box without power"),
        ("SUPPLY 10.9 V", "battery-low", "soon", None, "Ridge box: battery LOW"),
    ],
)
def test_what_calls_nobody_out_comes_to_nobody_by_turns(days, shown, text, kind, priority, tank, says):
    """Told to each of its subject once; nothing more comes by itself, unless the forecast may make it urgent."""
    days.comes(NOON, text)
    days.leaves(NOON)
    alarm = shown(says)
    assert (alarm["kind"], alarm["priority"], alarm["tank"], alarm["state"]) == (kind, priority, tank, "open")
    assert alarm["next"] is None or alarm["next"]["what"] == "urgent"
    assert {text["state"] for text in alarm["told"]} == {"sent"} and alarm["told"][0]["contact"] == "wren"


def test_an_end_by_reckoning_stays_listed(days, shown):
    """Nothing comes next, and who was told of it still is."""
    days.configure(idle="", controller='silence_after = "off"')
    days.comes(NOON, "LINE 1 MADE 1")
    due(days, NOON)
    due(days, NOON + DAY)
    with days.store.read() as reader:
        (end,) = reader.states(ReckonedEnd).values()
    days.comes(NOON + DAY, "OK", number=ROBIN)
    days.leaves(NOON + DAY)
    with days.store.write() as tx:
        (alarm,) = tx.alarms()
        tx.put_alarm(replace(alarm, back_at=end.due + H, warn_at=None))
    assert shown()["next"] == {"what": "reckoned-over", "at": home(end.due)}
    for day in range(12):
        due(days, NOON + day * DAY)
    alarm = shown()
    assert (alarm["state"], alarm["next"], alarm["taken_by"], alarm["folded"]) == ("reckoned-over", None, "robin", [])
    assert {text["contact"] for text in alarm["told"]} == {"wren", "robin"}


@pytest.mark.parametrize("what", get_args(What))
def test_each_next_step_has_words(what):
    """Seen: a low tank upstream, which may become urgent, ended the listing with a KeyError."""
    assert NEXT_WORDS[what]
