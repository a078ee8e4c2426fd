"""Alarms and who was told of them are rows of their own; what stood in a call-out goes on as one alarm for each matter."""

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime

from gateway.facts import Event, Message
from gateway.facts.alarms import Telling
from gateway.storage import open_store
from gateway.storage.migrate import migrate
from tests.storage.conftest import SITE
from tests.storage.rows import HOUR, NOW, low
from tests.storage.test_migrations import SECOND

TOLD_AT = datetime(2026, 11, 23, 22, 0, tzinfo=UTC)
TAKEN_AT = datetime(2026, 11, 24, 23, 25, 40, tzinfo=UTC)


def test_an_alarm_is_kept_as_it_is(store):
    """Every field comes back, changed ones too; one that is over stands no more."""
    with store.write() as tx:
        event = tx.keep_event(Event(kind="low", at=NOW, heard_at=NOW, known_at=NOW, tank="house"))
        first = tx.put_alarm(low(event=event.id, at_stake=True, dry_early=NOW + HOUR, warn_at=NOW))
        spring = tx.put_alarm(low(key="low:spring", tank="spring", priority="soon", state="folded", folded_in=first.id))
        taken = replace(
            first,
            state="taken",
            taken_by="wren",
            taken_at=NOW,
            back_at=NOW + 8 * HOUR,
            turn=2,
            reminders=3,
            judged=True,
        )
        assert tx.put_alarm(taken) == taken
    with store.write() as tx:
        assert tx.alarms() == (taken, spring)
        tx.put_alarm(replace(taken, state="over", over_at=NOW + HOUR))
        assert tx.alarms() == (spring,)
        assert [alarm.id for alarm in tx.alarms(ended_since=NOW)] == [spring.id, taken.id]
        assert tx.alarms(ended_since=NOW + 2 * HOUR) == (spring,)


def test_who_was_told_is_known_with_what_became_of_it(store):
    """The message's own state is read, so that it can never be told apart from it."""
    with store.write() as tx:
        alarm = tx.put_alarm(low())
        message = tx.put_message(Message(contact="wren", number="+61491570156", text="x", at=NOW, urgent=True))
        telling = tx.put_telling(Telling(alarm=alarm.id, contact="wren", at=NOW, why="first", message=message.id))
        tx.put_telling(Telling(alarm=alarm.id, contact="robin", at=NOW, why="first"))
        tx.change_message(message.id, state="delivered", tries=1, at=NOW + HOUR)
        tx.put_telling(replace(telling, answered_at=NOW + 2 * HOUR))
    with store.read() as reader:
        wren, robin = reader.tellings(alarm=alarm.id)
        assert (wren.state, wren.tries, wren.handed_at, wren.answered_at) == (
            "delivered",
            1,
            NOW + HOUR,
            NOW + 2 * HOUR,
        )
        assert (robin.contact, robin.message, robin.state) == ("robin", None, None)
        assert reader.tellings(message=message.id) == (wren,) and reader.tellings() == (wren, robin)
        assert reader.tellings(alarm=alarm.id, since=NOW) == (wren, robin)
        assert reader.tellings(alarm=alarm.id, since=NOW + HOUR) == ()
        assert [reader.ever_reached(alarm.id, who) for who in ("wren", "robin")] == [True, False]
        assert not reader.ever_reached(alarm.id + 1, "wren")
        assert reader.tellings(from_alarm=alarm.id) == (wren, robin) and reader.tellings(from_alarm=alarm.id + 1) == ()


def test_what_stood_in_a_call_out_is_an_alarm_each(tmp_path):
    """An older store: one row for each matter, taken by whom it was taken, told to whom it was told, by which message."""
    shutil.copy(SECOND, tmp_path / "gateway.db")
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", SITE)
    with store.read() as reader:
        alarms = {alarm.key: alarm for alarm in reader.alarms()}
        told = {
            key: [(telling.contact, telling.why, telling.state) for telling in reader.tellings(alarm=alarm.id)]
            for key, alarm in alarms.items()
        }
    store.close()
    assert list(alarms) == ["silence:hut", "power:ridge", "battery:ridge", "low:spring"]
    silence, spring = alarms["silence:hut"], alarms["low:spring"]
    assert (silence.kind, silence.controller, silence.tank, silence.state) == ("silent", "hut", None, "taken")
    assert (silence.taken_by, silence.taken_at, silence.raised_at, silence.at_stake) == (
        "wren",
        TAKEN_AT,
        TOLD_AT,
        False,
    )
    assert (spring.kind, spring.tank, spring.controller, spring.at_stake, spring.priority) == (
        "low",
        "spring",
        None,
        True,
        "urgent",
    )
    assert told["silence:hut"] == [("wren", "first", "sent")]
    with closing(sqlite3.connect(tmp_path / "gateway.db")) as connection:
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert told["low:spring"] == [("wren", "first", "sent"), ("robin", "first", "sent")]


def test_dry_taps_of_an_older_program_are_no_low_tank(tmp_path):
    """It kept both as one matter; a tank that goes low later is another, and what was told by which message still is."""
    url = f"sqlite:///{tmp_path}/gateway.db"
    migrate(url, "0005")
    with closing(sqlite3.connect(tmp_path / "gateway.db")) as connection:
        for key, kind in (("low:house", "ran-dry"), ("low:spring", "low"), ("dry:hut", "ran-dry")):
            connection.execute(
                "INSERT INTO alarms (site, key, kind, priority, at_stake, state, since, raised_at, round_at, turn, turn_at, judged,"
                " reminders, reminded_at) VALUES (?, ?, ?, 'urgent', 1, 'open', 1, 1, 1, 1, 1, 0, 0, 1)",
                (SITE, key, kind),
            )
        connection.commit()
    store = open_store(url, SITE)
    with store.read() as reader:
        assert [alarm.key for alarm in reader.alarms()] == ["dry:house", "low:spring", "dry:hut"]
    store.close()
