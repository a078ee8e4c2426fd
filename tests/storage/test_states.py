"""Durable state on both engines: comes back as it was set, by kind and subject; what cannot be read is refused by name."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from gateway.errors import StoreDamaged, StoreNewer
from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.facts.states.declared import STATES
from gateway.facts.states.gateway_itself import LastReference, PinTried, PublishedSite, Trouble
from tests.kept import kept
from tests.storage.rows import HOUR, NOW

TIMES = st.timedeltas(-timedelta(days=36_500), timedelta(days=36_500)).map(NOW.__add__)
st.register_type_strategy(datetime, TIMES)
st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))
st.register_type_strategy(date, st.dates())


@pytest.mark.parametrize("kind", STATES, ids=lambda kind: STATES[kind].name)
def test_every_kind_comes_back_as_it_was_set(kind):
    """Whatever its fields hold."""

    @settings(max_examples=30, deadline=None)
    @given(st.builds(kind, **{name: st.from_type(type_) for name, type_ in types_of(kind).items()}))
    def come_back(value):
        assert kept(value) == value

    come_back()


def types_of(kind):
    """The fields and their types."""
    return {name: type_ for name, type_ in get_type_hints(kind).items() if name in kind.__dataclass_fields__}


def test_one_value_for_each_kind_and_subject(store):
    """Set, set anew, cleared; another kind and another subject are not touched."""
    with store.write() as tx:
        tx.set_state(Trouble(since=NOW), "disk-low")
        tx.set_state(Trouble(since=NOW), "signal-lost")
        tx.set_state(FloatMemory(state="idle"), "disk-low")
        tx.set_state(Trouble(since=NOW + HOUR), "disk-low")
        assert tx.states(Trouble) == {"disk-low": Trouble(since=NOW + HOUR), "signal-lost": Trouble(since=NOW)}
        tx.clear_state(Trouble, "disk-low")
    with store.read() as reader:
        assert reader.state(Trouble, "disk-low") is None and reader.state(Trouble) is None
        assert reader.states(Trouble) == {"signal-lost": Trouble(since=NOW)}
        assert reader.state(FloatMemory, "disk-low") == FloatMemory(state="idle")


def stored(store, kind, version, value, subject="ridge"):
    """As some other program wrote it."""
    with store._database.writing() as connection:
        row = {"site": store.site, "kind": STATES[kind].name, "subject": subject, "version": version, "value": value}
        connection.execute(text("INSERT INTO states VALUES (:site, :kind, :subject, :version, :value)"), row)


@pytest.mark.parametrize(
    ("version", "value", "error", "why"),
    [
        (2, "{}", StoreNewer, "version 2, this program knows 1"),
        (1, '{"since":"yesterday"}', StoreDamaged, r"valid datetime.*\(since\)"),
        (1, '{"since":1}', StoreDamaged, r"valid datetime.*\(since\)"),
        (1, "{}", StoreDamaged, r"required \(since\)"),
        (1, '{"since":"2026-11-25T12:00:00Z","until":5}', StoreDamaged, r"\(until\)"),
        (1, "no JSON", StoreDamaged, "as a whole"),
        (0, "{}", StoreDamaged, "nothing makes version 0 one of version 1"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(store, version, value, error, why):
    """Kind and subject are named, and the value as it stands goes with the error."""
    stored(store, Trouble, version, value)
    with store.read() as reader, pytest.raises(error, match=f"state 'trouble' of 'ridge' .*{why}") as refused:
        reader.state(Trouble, "ridge")
    assert refused.value.raw == value


def test_an_older_version_is_made_one_of_today(store, monkeypatch):
    """By the kind's own function, which is told the version; a value that this cannot make is refused by name."""

    def upgrade(version, fields):
        return {"since": fields[f"began-{version}"]}

    monkeypatch.setitem(STATES, Trouble, replace(STATES[Trouble], version=3, upgrade=upgrade))
    stored(store, Trouble, 2, '{"began-2":"2026-11-25T12:00:00Z"}')
    stored(store, Trouble, 1, '{"began-2":"2026-11-25T12:00:00Z"}', "hut")
    with store.write() as tx:
        assert tx.state(Trouble, "ridge") == Trouble(since=NOW)
        with pytest.raises(StoreDamaged, match="state 'trouble' of 'hut' cannot be read: 'began-1'"):
            tx.state(Trouble, "hut")
        tx.set_state(Trouble(since=NOW), "ridge")
    with store._database.reading() as connection:
        versions = connection.execute(text("SELECT version FROM states WHERE subject = 'ridge'")).scalars().all()
    assert versions == [3]


def test_a_state_of_another_site_that_cannot_be_read_is_unknown(store, opened):
    """Its gateway may be newer: that is no trouble of this one."""
    creek, flat = opened("Creek Flat"), opened("Flat")
    stored(creek, PublishedSite, 9, "{}", "")
    with flat.write() as tx:
        tx.set_state(PublishedSite(configuration="{}"))
    with store.read() as reader:
        published = reader.state_of_others(PublishedSite)
    assert published == {"Creek Flat": None, "Flat": PublishedSite(configuration="{}")}


def test_what_stands_there_is_not_written_again(file_store):
    """A commit without a change writes nothing to the disk."""
    with file_store.write() as tx:
        tx.set_state(PinTried(mark="a"))
    with file_store.write() as tx:
        tx.set_state(PinTried(mark="a"))
        assert tx._value(text("SELECT total_changes()")) == 1
        tx.set_state(PinTried(mark="b"))
        assert tx._value(text("SELECT total_changes()")) == 2


def test_references_go_round(store):
    """0 to 255 and on with 0, also after another start."""
    with store.write() as tx:
        tx.set_state(LastReference(number=254))
        assert [tx.next_reference() for _ in range(3)] == [255, 0, 1]
    with store.write() as tx:
        assert tx.next_reference() == 2
