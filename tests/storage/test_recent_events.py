"""What a connection remembers of the newest events is what stands in the store, whoever wrote it."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.storage import open_store
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


STEPS = st.lists(
    st.tuples(st.sampled_from(["ours", "theirs", "undone"]), st.sampled_from(KINDS), st.integers(0, 9)), max_size=12
)


@settings(max_examples=40, deadline=None)
@given(STEPS)
def test_it_is_always_what_a_fresh_connection_reads(tmp_path_factory, steps):
    """Our commits, somebody else's, and such as failed, in any order."""
    url = f"sqlite:///{tmp_path_factory.mktemp('newest')}/gateway.db"
    ours, theirs = open_store(url, SITE), open_store(url, SITE)
    for whose, kind, hours in steps:
        try:
            with (theirs if whose == "theirs" else ours).write() as tx:
                newest(tx)
                tx.keep_event(event(kind, NOW + hours * timedelta(hours=1)))
                newest(tx)
                if whose == "undone":
                    raise ValueError
        except ValueError:
            pass
        fresh = open_store(url, SITE)
        with ours.write() as tx, fresh.read() as reader:
            assert newest(tx) == newest(reader)
        fresh.close()
    ours.close(), theirs.close()
