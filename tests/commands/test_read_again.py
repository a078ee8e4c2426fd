"""`read-again`: rules are mended, and what came before is read by them."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.clock import SystemClock
from gateway.commands import read_again as command
from gateway.handlers.read_again import ReadingAgain
from gateway.status.float_memory import float_memory
from gateway.storage import open_store
from tests.handlers.days import Days
from tests.household import write_config

NOON = datetime(2026, 3, 4, 1, 0, tzinfo=UTC)
OLD = """received_at,sender,text
2026-03-01T01:00:00+11:00,0491 570 006,LINE 1 MADE 0100
2026-03-01T02:00:00+11:00,0491 570 006,LINE 1 MADE 0200
2026-03-01T06:00:00+11:00,0491 570 006,LINE 1 BROKE 0600
2026-03-02T06:00:00+11:00,0491 570 006,HELLO
2026-03-03T06:00:00+11:00,0491 570 006,TANK LINE LOW
2026-03-03T07:00:00+11:00,0491 570 159,hello from a stranger
"""
WRONG = """
  [[controllers.rules]]
  text = "HELLO"
  means = "input"
  input = 1
  state = "active"
"""
MENDED = """
  [[controllers.rules]]
  text = "TANK LINE {state}"
  means = "input"
  input = 1
  active = ["LOW"]
  idle = ["WELL"]
  [[controllers.rules]]
  text = "HELLO"
  means = "alive"
"""


@pytest.fixture(params=[1, 100], ids=["text by text", "at once"])
def house(request, tmp_path, capsys, monkeypatch):
    """A household with an imported past; what is read again is the same in however many transactions."""
    monkeypatch.setattr(command, "TEXTS_A_COMMIT", request.param)
    return House(tmp_path, capsys)


class House:
    def __init__(self, folder, capsys):
        self.folder, self.capsys = folder, capsys
        self.configure()
        (folder / "old.csv").write_text(OLD)
        self.do("import", str(folder / "old.csv"))

    def configure(self, **parts):
        self.config = str(write_config(self.folder, **parts))

    def do(self, *words):
        assert main([*words, "--config", self.config]) == 0
        return self.capsys.readouterr().out

    def json(self, *words):
        return json.loads(self.do(*words, "--json"))

    def kinds(self):
        return [event["kind"] for event in self.json("history")["events"]]

    def mend(self):
        self.configure(controller=MENDED)


BEFORE = ["low", "alive", "low-over", "unread", "unread"]


def test_first_it_only_tells(house):
    """What would change, and the store is as it was."""
    house.mend()
    told = house.do("read-again")
    assert "House tank low" in told and "2 would be read otherwise" in told and "--yes" in told
    assert house.kinds() == BEFORE


def test_then_it_changes(house):
    """The earlier reading stays, marked with what it was; nothing is sent; the tank stands as its newest text says."""
    house.mend()
    told = house.do("read-again", "--yes")
    assert "2 read otherwise" in told and "House tank stands low by this, and nobody was told" in told
    events = house.json("history")["events"]
    replaced = [event for event in events if event["kind"] == "read-otherwise"]
    assert [(event["text"], event["detail"]["was"]) for event in replaced] == [
        ("HELLO", "unread"),
        ("TANK LINE LOW", "unread"),
    ]
    assert [event["kind"] for event in events if event["kind"] != "read-otherwise"] == [*BEFORE[:3], "alive", "low"]
    texts = house.json("texts")["texts"]
    assert [text["state"] for text in texts] == ["read", "read", "read", "read", "read", "stranger"]
    kinds = {event["id"]: event["kind"] for event in events}
    assert [kinds[text["event"]] for text in texts if text["event"]] == ["low", "alive", "low-over", "alive", "low"]
    house_tank = next(
        tank for tank in house.json("tanks", "--at", "2026-03-03T08:00:00+11:00")["tanks"] if tank["id"] == "house"
    )
    assert (house_tank["state"], house_tank["since"]) == ("low", "2026-03-03T06:00:00+11:00")


def test_twice_is_once(house):
    """The second time everything is as it was."""
    house.mend()
    house.do("read-again", "--yes")
    after = house.json("history")
    assert house.json("read-again", "--yes")["changes"] == []
    assert house.json("history") == after


def test_nothing_changes_by_rules_that_read_the_same(house):
    """No row of the record."""
    before = house.json("history")
    assert house.json("read-again", "--yes") == {"read": 5, "changed": True, "changes": [], "active": []}
    assert house.json("history") == before


def test_only_since_then(house):
    """What came before is left as it was read."""
    house.mend()
    assert [change["words"] for change in house.json("read-again", "--since", "2026-03-03")["changes"]] == [
        "TANK LINE LOW"
    ]


def test_what_follows_from_a_changed_text_changes_too(house):
    """The float stood low already, so that the text after it says it only again; a swapped meaning turns the tank round."""
    house.configure(
        controller="""
  [[controllers.rules]]
  text = "LINE 1 MADE 0100"
  means = "alive"
  [[controllers.rules]]
  text = "LINE {input} {state} 0600"
  means = "input"
  active = ["BROKE"]
  idle = ["MADE"]
"""
    )
    house.do("read-again", "--yes")
    assert [kind for kind in house.kinds() if kind != "read-otherwise"] == ["alive", "low", "alive", "unread", "unread"]
    assert (
        next(
            tank["state"]
            for tank in house.json("tanks", "--at", "2026-03-03T08:00:00+11:00")["tanks"]
            if tank["id"] == "house"
        )
        == "low"
    )


def test_an_alarm_by_a_reading_that_is_gone_is_over(tmp_path, capsys):
    """Without a word to anybody: the text was no low tank at all."""
    days = Days(tmp_path, controller=WRONG)
    at = SystemClock().now() - timedelta(hours=2)
    days.comes(at, "HELLO")
    assert [alarm.key for alarm in standing(days)] == ["low:house"]
    told = len(days.outbox())
    days.configure(controller=MENDED)
    days.store.close()
    assert main(["read-again", "--yes", "--config", str(tmp_path / "gateway.toml")]) == 0
    days.store = open_store(days.settings.store.url, "Quandong Ridge")
    assert (standing(days), len(days.outbox())) == ([], told)
    assert (
        days.at(at + timedelta(hours=1), lambda unit: float_memory(unit.tx, unit.site.floats["ridge", "1"])).state
        == "unknown"
    )
    days.store.close()


def standing(days):
    """Alarms that are not over."""
    with days.store.read() as reader:
        return list(reader.alarms())


def test_to_look_holds_no_daemon_up(house):
    """It is tried on a copy: whoever writes into the store meanwhile is waited for by nobody."""
    house.mend()
    before = house.json("history")
    store = open_store(f"sqlite:///{house.folder}/gateway.db", "Quandong Ridge")
    with store.write() as tx:
        tx.put_pause("house", NOON, NOON, None)
        assert len(house.json("read-again")["changes"]) == 2
    store.close()
    assert house.json("history") == before


def test_ended_half_way_the_remainder_is_done_the_next_time(house, monkeypatch):
    """What was committed stays, and in the end all is as if it had been done at once."""
    house.mend()
    wanted = [change["now"] for change in house.json("read-again")["changes"]]
    read, ends = ReadingAgain.read, iter([False, False, False, True])

    def ends_half_way(self, unit, texts):
        changes = read(self, unit, texts)
        if next(ends, True):
            raise KeyboardInterrupt
        return changes

    monkeypatch.setattr(ReadingAgain, "read", ends_half_way)
    monkeypatch.setattr(command, "TEXTS_A_COMMIT", 1)
    assert main(["read-again", "--yes", "--config", house.config]) == 130
    house.capsys.readouterr()
    monkeypatch.setattr(ReadingAgain, "read", read)
    left = [change["now"] for change in house.json("read-again", "--yes")["changes"]]
    assert len(left) > 0 and left == wanted[-len(left) :]
    assert house.json("read-again")["changes"] == []


def test_on_a_server_it_is_tried_and_undone(house, monkeypatch):
    """There no copy can be made, and nobody waits for a transaction that is open."""
    house.mend()
    before = house.json("history")
    looked = house.json("read-again")
    monkeypatch.setattr(command, "sqlite_file", lambda url: None)
    assert house.json("read-again") == looked and house.json("history") == before
