"""Which of the record goes to a broker and when: in order, once, what changed; against a link that does what it is told to (no network)."""

import json
from datetime import UTC, datetime, timedelta

import jsonschema
import pytest

from gateway.__main__ import main
from gateway.facts import Event
from gateway.facts.states.gateway_itself import MqttLinkSeen, MqttPublished
from gateway.feeds import mqtt_link
from gateway.feeds.mqtt_schema import mqtt_schema
from gateway.service import mqtt_feed
from gateway.status.broker import NO_LIBRARY
from tests.faults.board import UNLIMITED, Board
from tests.household import RIDGE, ROBIN, WREN

HOUR = timedelta(hours=1)
BROKER = '[mqtt]\nurl = "mqtt://127.0.0.1"\n'


class FakeLink:
    """A link whose broker takes what it is handed when the test says so."""

    def __init__(self, account, will, birth, wake, monotonic):
        self.account, self.will, self.born = account, will, birth()
        self.trouble, self.connections, self.idle = "", 0, False
        self.batches, self.done, self.goodbye, self.asked = [], [], None, 0
        links.append(self)

    def connect(self):
        """A connection is there."""
        self.connections, self.idle, self.trouble = self.connections + 1, True, ""

    def lose(self, why="gone"):
        """It is no more; what was under way is lost."""
        self.idle, self.trouble = False, why

    def acknowledge(self, count=None):
        """The broker takes the last batch, or so much of it."""
        self.done += self.batches[-1][:count]
        self.idle = count is None

    # as MqttLink

    def offer(self, batch):
        """Only while idle."""
        assert self.idle
        self.idle = False
        self.batches.append(list(batch))

    def take_done(self):
        """Once."""
        done, self.done = self.done, []
        return done

    @property
    def has_done(self):
        """As it is."""
        return bool(self.done)

    def end(self, goodbye):
        """Noted."""
        self.goodbye = goodbye


links = []


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A board at work, its broker not reached yet; `home.link` is what stands for the link."""
    monkeypatch.setattr(mqtt_link, "MqttLink", FakeLink)
    links.clear()
    made = Board(tmp_path, rest=BROKER + UNLIMITED)
    made.start()
    yield made
    made.cut()


def goes_on(home, take=True):
    """Batch after batch is taken, until there is nothing more; every publication, in its order."""
    link, taken = links[-1], []
    for _ in range(60):
        before = len(link.batches)
        home.pass_time(timedelta(seconds=1))
        if len(link.batches) == before:
            return taken
        taken += link.batches[-1]
        if not take:
            return taken
        link.acknowledge()
    raise AssertionError("it never comes to rest")


def events(publications):
    """The kinds of those that are events."""
    return [
        json.loads(publication.payload)["kind"] for publication in publications if publication.topic == "tanks/event"
    ]


def states(publications):
    """topic → document of what is retained, None: to be forgotten."""
    return {
        publication.topic: json.loads(publication.payload) if publication.payload else None
        for publication in publications
        if publication.retain
    }


def cursor(home):
    """What is kept."""
    with home.store.read() as reader:
        return reader.state(MqttPublished)


def test_without_a_connection_nothing_is_made_or_kept(home):
    """However much happens."""
    for number in range(3):
        home.hears(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}")
    home.pass_time(HOUR)
    assert links[-1].batches == [] and cursor(home) is None and len(home.arrived()) == 6


def test_what_stands_is_retained_and_what_was_before_is_no_news(home):
    """All tanks and controllers at the first connection; then what changes, and an alarm until it is over."""
    home.hears(RIDGE, "STATION WELL 1")
    links[-1].connect()
    first = goes_on(home)
    assert set(states(first)) == {"tanks/tank/spring", "tanks/tank/house", "tanks/controller/ridge"}
    assert events(first) == [] and states(first)["tanks/controller/ridge"]["state"] == "heard"
    home.hears(RIDGE, "LINE 1 MADE 0717")
    second = goes_on(home)
    assert events(second)[0] == "low" and "tanks/tank/spring" not in states(second)
    assert states(second)["tanks/tank/house"]["state"] == "low"
    (alarm,) = [document for topic, document in states(second).items() if "/alarm/" in topic]
    assert (alarm["kind"], alarm["state"], alarm["taken_by"]) == ("low", "open", None) and "told" not in alarm
    home.hears(WREN, "OK")
    third = goes_on(home)
    assert events(third) == ["taken"]
    assert states(third)[f"tanks/alarm/{alarm['id']}"]["taken_by"] == "wren"
    home.hears(RIDGE, "LINE 1 BROKE 0900")
    last = goes_on(home)
    assert events(last) == ["low-over"] and states(last)[f"tanks/alarm/{alarm['id']}"] is None
    assert f"tanks/alarm/{alarm['id']}" not in cursor(home).topics and "tanks/tank/house" in cursor(home).topics
    assert goes_on(home) == []


def test_everything_holds_to_the_schema(home, capsys):
    """Also gauges, dry taps and the gateway's own topics; as `schema --mqtt` prints it. No number and no words of a person or a box."""
    links[-1].connect()
    said = goes_on(home)
    for sender, text in [
        (RIDGE, "LINE 1 MADE 0717"),
        (WREN, "NOTE ring 0491 570 158 about the zebra"),
        (ROBIN, "DRY"),
        (RIDGE, "SUPPLY 12.6 V"),
        (RIDGE, "WHAT IS THIS 0491570159"),
    ]:
        home.hears(sender, text)
        said += goes_on(home)
    assert main(["schema", "--mqtt"]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema == mqtt_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    link = links[-1]
    assert len(said) > 15 and {"note", "ran-dry", "unread", "reading"} <= set(events(said))
    for publication in [*said, link.born, link.will]:
        if publication.payload:
            jsonschema.validate({publication.topic: json.loads(publication.payload)}, schema)
    whole = b"".join(word.payload for word in said)
    for private in (b"0491", b"61491", b"zebra", b"WHAT IS THIS"):
        assert private not in whole
    reading = next(word for word in said if b'"reading"' in word.payload)
    assert json.loads(reading.payload)["detail"]["volts"] == 12.6


@pytest.mark.parametrize("wrong", [{"tanks/tank/house": {}}, {"tanks/other": {}}, {"tanks/event": {"id": "1"}}])
def test_the_schema_refuses(wrong):
    """It is no schema that fits everything."""
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(wrong, mqtt_schema())


def test_what_was_under_way_as_the_connection_broke_comes_again(home):
    """From the event after the last that was acknowledged, in order; what is retained is said anew to a broker that may have forgotten it."""
    links[-1].connect()
    goes_on(home)
    for number in range(4):
        home.hears(RIDGE, f"LINE 1 {('MADE', 'BROKE')[number % 2]} {number:04}")
    links[-1].idle = True
    batch = goes_on(home, take=False)
    acknowledged, lost = batch[:2], batch[2:]
    links[-1].acknowledge(2)
    links[-1].lose()
    home.hears(RIDGE, "LINE 2 MADE 0005")
    home.pass_time(HOUR)
    assert cursor(home).event == acknowledged[-1].event
    links[-1].connect()
    again = goes_on(home)
    ids = [publication.event for publication in again if publication.event is not None]
    assert ids[: len(lost)] == [publication.event for publication in lost] and ids == sorted(set(ids))
    assert not set(ids) & {publication.event for publication in acknowledged}
    assert {"tanks/tank/spring", "tanks/tank/house", "tanks/controller/ridge"} <= set(states(again))


def test_a_restart_goes_on_where_it_was_and_takes_back_what_is_no_more(home):
    """An alarm that ended while nobody was connected is no longer retained; nothing comes twice."""
    links[-1].connect()
    home.hears(RIDGE, "LINE 1 MADE 0717")
    before = goes_on(home)
    (alarm,) = [topic for topic in states(before) if "/alarm/" in topic]
    home.cut()
    home.start()
    home.hears(RIDGE, "LINE 1 BROKE 0800")
    assert len(links) == 2
    links[-1].connect()
    after = goes_on(home)
    ids = [publication.event for publication in [*before, *after] if publication.event is not None]
    assert ids == sorted(set(ids)) and "low-over" in events(after) and states(after)[alarm] is None


@pytest.mark.parametrize("at_once", [1, 3, 200])
def test_a_batch_is_bounded(home, monkeypatch, at_once):
    """And the imported past is no event of today; what came after it is."""
    monkeypatch.setattr(mqtt_feed, "AT_ONCE", at_once)
    links[-1].connect()
    goes_on(home)
    now = home.clock.now()
    with home.store.write() as tx:
        for number in range(8):
            known = now if number in (1, 6) else datetime(2020, 1, 1, tzinfo=UTC)
            tx.keep_event(Event(kind="note", at=known, heard_at=now, known_at=known, text=str(number)))
    home.hears(RIDGE, "STATION WELL 9")
    began = len(links[-1].batches)
    taken = goes_on(home)
    assert events(taken) == ["note", "note", "alive"]
    assert max(len(batch) for batch in links[-1].batches[began:] if batch[0].event is not None) <= at_once


def test_the_end_is_said_and_what_was_taken_is_kept(home):
    """In order: a broker says no last will then."""
    links[-1].connect()
    goes_on(home)
    home.hears(RIDGE, "LINE 1 MADE 0717")
    batch = goes_on(home, take=False) or links[-1].batches[-1]
    links[-1].acknowledge(1)
    home.daemon.end()
    goodbye = json.loads(links[-1].goodbye.payload)
    assert (goodbye["state"], links[-1].goodbye.topic) == ("ended", "tanks/gateway") and links[-1].goodbye.retain
    assert cursor(home).event == batch[0].event
    assert [json.loads(testament.payload)["state"] for testament in (links[-1].born, links[-1].will)] == [
        "at-work",
        "lost",
    ]


def test_another_broker_by_reload(home):
    """The old one is left in order, the new one gets what stands; none at all ends it."""
    links[-1].connect()
    goes_on(home)
    text = home.config.read_text()
    home.config.write_text(text.replace(BROKER, BROKER + 'topic = "house/water"\nuser = "tank"\n'))
    home.daemon.tell("reload")
    home.pass_time(timedelta(seconds=2))
    old, new = links
    assert old.goodbye is not None and new.account.user == "tank" and new.account.client_id != old.account.client_id
    new.connect()
    said = states(goes_on(home))
    assert "house/water/tank/house" in said and said["tanks/tank/house"] is None
    home.config.write_text(text.replace(BROKER, ""))
    home.daemon.tell("reload")
    home.pass_time(timedelta(seconds=2))
    assert new.goodbye is not None and len(links) == 2


def link_seen(home):
    """What is on record of the link: whether it is reached, for how many seconds, why not."""
    with home.store.read() as reader:
        link = reader.state(MqttLinkSeen)
    return link and (link.reached, round((home.clock.now() - link.since).total_seconds(), -1), link.why)


def test_connected_and_lost_are_in_the_journal_and_on_record(home, caplog):
    """Each once; another reason is no other time."""
    caplog.set_level("INFO", "gateway")
    assert link_seen(home) is None
    links[-1].lose("Not authorized")
    home.pass_time(timedelta(seconds=2))
    home.pass_time(HOUR)
    assert link_seen(home) == (False, 3600, "Not authorized")
    links[-1].lose("no route")
    home.pass_time(timedelta(seconds=2))
    assert link_seen(home) == (False, 3600, "no route")
    links[-1].connect()
    goes_on(home)
    assert link_seen(home) == (True, 0, "")
    assert caplog.text.count("not reached: Not authorized") == 1 == caplog.text.count("broker is reached")
    home.cut()
    home.start()
    assert link_seen(home) is None, "what a daemon before saw is nothing of now"


def test_when_it_took_the_last_event_is_kept(home):
    """What stands, which it takes besides, is no event."""
    links[-1].connect()
    goes_on(home)
    assert cursor(home).at is None
    home.hears(RIDGE, "LINE 1 MADE 0717")
    goes_on(home)
    at = cursor(home).at
    assert timedelta(0) <= home.clock.now() - at < timedelta(seconds=30)
    home.pass_time(HOUR)
    goes_on(home)
    assert cursor(home).at == at


def test_a_board_without_the_library_goes_on(tmp_path, monkeypatch, caplog):
    """It is said what to do, and texts are read and told as ever."""
    monkeypatch.setitem(__import__("sys").modules, "gateway.feeds.mqtt_link", None)
    caplog.set_level("INFO", "gateway")
    board = Board(tmp_path, rest=BROKER + UNLIMITED)
    board.start()
    board.hears(RIDGE, "LINE 1 MADE 0717")
    assert board.arrived() and caplog.text.count("deploy/install --mqtt") == 1
    assert link_seen(board) == (False, 0, NO_LIBRARY)
    board.cut()
