"""What a connection remembers - the newest events, when boxes were heard, durable state - is what stands in the store, whoever wrote it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.facts import Text
from gateway.facts.states.controllers_and_tanks import PowerLost
from gateway.storage import open_store
from gateway.storage.remembered import remembered
from tests.storage.conftest import SITE
from tests.storage.rows import HOUR, NOW, event

KINDS = ("low", "low-over", "ran-dry")
LIMIT = 4


def newest(reader, known_by=NOW + 1000 * HOUR):
    """As the forecast asks."""
    return [(event.kind, event.at) for event in reader.past(KINDS, known_by=known_by, limit=LIMIT)]


def test_what_a_transaction_keeps_itself_is_there_at_once(store):
    """In order of when it happened, and no more than asked for."""
    with store.write() as tx:
        assert newest(tx) == []
        for hours in (2, 0, 3, 1, 4, 5):
            tx.keep_event(event("low", NOW + hours * HOUR))
        tx.keep_event(event("high", NOW + 6 * HOUR))
        assert newest(tx) == [("low", NOW + hours * HOUR) for hours in (2, 3, 4, 5)]
    with store.write() as tx:
        assert newest(tx) == [("low", NOW + hours * HOUR) for hours in (2, 3, 4, 5)]


def test_what_was_given_up_is_forgotten(store):
    """A transaction that failed taught nothing."""
    with store.write() as tx:
        tx.keep_event(event("low", NOW))
        assert newest(tx) == [("low", NOW)]
    with pytest.raises(ValueError), store.write() as tx:
        tx.keep_event(event("low-over", NOW + HOUR))
        assert len(newest(tx)) == 2
        raise ValueError
    with store.write() as tx:
        assert newest(tx) == [("low", NOW)]


def test_what_another_wrote_is_seen(store, opened):
    """An import, say, while the gateway is at work."""
    with store.write() as tx:
        tx.keep_event(event("low", NOW))
        newest(tx)
    with opened(SITE).write() as tx:
        tx.keep_event(event("low-over", NOW + HOUR))
    with store.write() as tx:
        assert newest(tx) == [("low", NOW), ("low-over", NOW + HOUR)]


def test_as_it_was_known_then(store):
    """What was known later does not count, also once it is remembered."""
    with store.write() as tx:
        tx.keep_event(event("low", NOW))
        tx.keep_event(event("low-over", NOW + HOUR))
        for known_by, kinds in ((NOW + 2 * HOUR, ["low", "low-over"]), (NOW + HOUR / 2, ["low"]), (NOW - HOUR, [])):
            assert [kind for kind, _ in newest(tx, known_by)] == kinds


def heard(reader, known_by=None, limit=200):
    """As the rhythm of a box asks: hours since NOW."""
    return [(at - NOW) / HOUR for at in reader.heard_times("ridge", limit=limit, known_by=known_by)]


def text_at(at, known_at=None):
    """A sign of life of the box."""
    return Text(number="+61491570006", text="STATION WELL", at=at, heard_at=known_at or at)


def test_when_a_box_was_heard(store, opened):
    """In order of the texts' own times; a repeat is no text, and nobody else's is the box's."""
    with store.write() as tx:
        assert heard(tx) == []
        for hours, state, controller in (
            (2, "read", "ridge"),
            (1, "unread", "ridge"),
            (3, "repeat", "ridge"),
            (4, "read", "shed"),
        ):
            tx.keep_text(text_at(NOW + hours * HOUR), state, controller=controller)
        assert heard(tx) == [1, 2] and heard(tx, limit=1) == [2]
        assert heard(tx, NOW + HOUR) == [1] and heard(tx, NOW + 2 * HOUR) == [1, 2]
        tx.keep_text(text_at(NOW, known_at=NOW + 5 * HOUR), "read", controller="ridge")
        assert heard(tx, NOW + 2 * HOUR) == [1, 2] and heard(tx, NOW + 5 * HOUR) == [0, 1, 2]
    with opened(SITE).read() as reader:
        assert heard(reader, NOW + 2 * HOUR) == [1, 2] and heard(reader, NOW + 5 * HOUR) == [0, 1, 2]
    with store.write() as tx:
        assert heard(tx) == [0, 1, 2]
        tx.keep_text(text_at(NOW + 9 * HOUR, known_at=NOW + 6 * HOUR), "read", controller="ridge")
        assert heard(tx, NOW + 8 * HOUR) == [0, 1, 2], "its stamp is ahead of our clock"


def test_only_the_newest_times_count(store):
    """As many as a rhythm is read off, whether they came before it was first asked or after."""
    with store.write() as tx:
        for hours in range(150):
            tx.keep_text(text_at(NOW + hours * HOUR), "read", controller="ridge")
        assert heard(tx) == list(range(150))
        for hours in range(150, 260):
            tx.keep_text(text_at(NOW + hours * HOUR), "read", controller="ridge")
        assert heard(tx) == list(range(60, 260)) and heard(tx, NOW + 100 * HOUR, limit=3) == [98, 99, 100]
        (kept,) = remembered(tx._connection, "heard-times").values()
        assert len(kept.kept) == 200


def test_a_text_that_is_read_anew_may_become_a_boxs(store):
    """What came from its new number counts from when that was adopted."""
    with store.write() as tx:
        first = tx.keep_text(text_at(NOW), "stranger")
        assert heard(tx) == []
        tx.read_text_anew(first, "read", "ridge", None)
        assert heard(tx) == [0]


def test_a_store_that_was_taken_over_is_read_anew(file_url):
    """A backup of elsewhere is this site's from now on: that nothing was there before is forgotten."""
    theirs = open_store(file_url, "Elsewhere")
    with theirs.write() as tx:
        tx.set_state(PowerLost(since=NOW), "ridge")
    theirs.close()
    ours = open_store(file_url, SITE)
    with ours.read() as reader:
        assert reader.state(PowerLost, "ridge") is None
    assert ours.adopt() == "Elsewhere"
    with ours.read() as reader:
        assert reader.state(PowerLost, "ridge") == PowerLost(since=NOW)
    ours.close()


def everything(reader):
    """All that is remembered."""
    powers = [reader.state(PowerLost, box) for box in BOXES]
    return newest(reader), heard(reader), powers, reader.states(PowerLost)


BOXES = ("ridge", "shed")
STEPS = st.lists(
    st.tuples(
        st.sampled_from(["ours", "theirs", "undone"]),
        st.sampled_from([*KINDS, "heard", "power-lost", "power-back"]),
        st.integers(0, 9),
    ),
    max_size=12,
)


def change(tx, kind, hours):
    """One thing of each kind."""
    at = NOW + hours * HOUR
    match kind:
        case "heard":
            tx.keep_text(text_at(at), "read", controller="ridge")
        case "power-lost":
            tx.set_state(PowerLost(since=at), BOXES[hours % 2])
        case "power-back":
            tx.clear_state(PowerLost, BOXES[hours % 2])
        case _:
            tx.keep_event(event(kind, at))


@settings(max_examples=60, deadline=None)
@given(STEPS)
def test_it_is_always_what_a_fresh_connection_reads(tmp_path_factory, steps):
    """Our commits, somebody else's, and such as failed, in any order."""
    url = f"sqlite:///{tmp_path_factory.mktemp('newest')}/gateway.db"
    ours, theirs = open_store(url, SITE), open_store(url, SITE)
    for whose, kind, hours in steps:
        try:
            with (theirs if whose == "theirs" else ours).write() as tx:
                everything(tx)
                change(tx, kind, hours)
                everything(tx)
                if whose == "undone":
                    raise ValueError
        except ValueError:
            pass
        fresh = open_store(url, SITE)
        with ours.write() as tx, fresh.read() as reader:
            assert everything(tx) == everything(reader)
        fresh.close()
    ours.close(), theirs.close()
