"""The site as it stands → what a broker is given of it, without a broker: topics, what is kept, what is never said."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event
from gateway.feeds.mqtt_topics import event_publication, forgotten, gateway_publication, state_publications
from tests.handlers.days import Days

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def days(tmp_path):
    """A household with a broker, whose name has what a terminal would obey in it."""
    made = Days(tmp_path, rest='[mqtt]\nurl = "mqtt://broker.home"\ntopic = "ridge"\n', site="Ridge \\u202e1")
    yield made
    made.store.close()


def test_what_the_gateway_says_of_itself(days):
    """Kept by the broker; who connects last knows since when; nothing in it turns a line round."""
    said = gateway_publication(days.site, "at-work", NOW)
    assert (said.topic, said.retain, said.event) == ("ridge/gateway", True, None)
    document = json.loads(said.payload)
    assert (document["state"], document["since"]) == ("at-work", "2026-11-25T14:00:00+11:00")
    assert "\u202e" not in document["site"] and document["site"].startswith("Ridge ")
    assert json.loads(gateway_publication(days.site, "lost", None).payload)["since"] is None


def test_an_event_leaves_without_words_of_people(days):
    """Figures, the kind and a sentence; not the raw text, its sender, or what somebody wrote."""
    event = Event(
        id=7, kind="note", at=NOW, heard_at=NOW, known_at=NOW, tank="house", text="key under the mat", sender="+61491570156",
        detail={"who": "Wren", "volts": 12.6, "held": True, "more": ["a"]},
    )  # fmt: skip
    said = event_publication(days.site, event)
    document = json.loads(said.payload)
    assert (said.topic, said.retain, said.event, document["kind"]) == ("ridge/event", False, 7, "note")
    assert document["detail"] == {"volts": 12.6, "held": True} and not {"text", "sender"} & set(document)
    assert b"mat" not in said.payload and b"0491" not in said.payload and document["says"]


def test_each_tank_box_and_alarm_has_its_topic(days):
    """As the commands tell them; an alarm without who was told."""
    days.comes(NOW - HOUR, "LINE 1 MADE 0717")
    with days.store.read() as reader:
        said = state_publications(reader, days.site, NOW)
    alarm = next(topic for topic in said if "/alarm/" in topic)
    assert set(said) == {"ridge/tank/spring", "ridge/tank/house", "ridge/controller/ridge", alarm}
    assert all(topic == publication.topic and publication.retain for topic, publication in said.items())
    house, told = (json.loads(said[topic].payload) for topic in ("ridge/tank/house", alarm))
    assert house["state"] == "low" and len(house["dry_at"]) == 3
    assert (told["kind"], told["tank"]) == ("low", "house") and "told" not in told and told["folded"] == []


def test_what_is_over_is_forgotten():
    """By an empty message that is kept."""
    assert (forgotten("a/b").payload, forgotten("a/b").retain) == (b"", True)
