"""Several gateways, one record: each takes only its own, all are seen, and none waits for another."""

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from sqlalchemy import create_engine, text

from gateway.errors import StoreHeld, StoreTrouble
from gateway.facts import Message, Text
from gateway.facts.states.gateway_itself import CreditFailures, PublishedSite
from gateway.storage import hold, open_store
from gateway.storage.database import hold_site
from tests.storage.conftest import SITE
from tests.storage.rows import HOUR, NOW, event, low

CREEK = "Creek Flat"
NONE, ONE = CreditFailures(times=0), CreditFailures(times=1)
NUMBER = "+61491570156"
WITHIN_S = 120.0


@pytest.fixture
def other(opened):
    """The same store as Creek Flat's gateway sees it."""
    return opened(CREEK)


def message(text, **more):
    return Message(contact="wren", number=NUMBER, text=text, at=NOW, **more)


def test_each_sees_its_own_and_whoever_asks_sees_all(store, other):
    """Events, texts and states."""
    with store.write() as tx:
        tx.keep_event(event())
        tx.set_state(PublishedSite(configuration="{}"))
        tx.keep_text(Text(number=NUMBER, text="x", at=NOW, heard_at=NOW), "read")
    with other.write() as tx:
        tx.keep_event(event("high"))
    with other.read() as reader:
        assert [event.kind for event in reader.events()] == ["high"] and reader.state(PublishedSite) is None
        assert [(event.kind, event.site) for event in reader.events(all_sites=True)] == [("low", SITE), ("high", CREEK)]
        assert reader.texts() == () and [text.site for text in reader.texts(all_sites=True)] == [SITE]
        assert reader.state_of_others(PublishedSite) == {SITE: PublishedSite(configuration="{}")}
        assert [event.kind for event in reader.of_site(SITE).events()] == ["low"]
        assert reader.last_event(("low",)) is None and reader.last_heard("ridge") is None


def test_each_takes_only_its_own_from_the_outbox(store, other):
    """Neither claims, changes nor reports on the other's messages, not even by their ids."""
    with store.write() as tx:
        mine = tx.put_message(message("a"))
        tx.keep_references(mine.id, NUMBER, (7,), NOW)
    with other.write() as tx:
        assert tx.outbox() == () and tx.message(mine.id) is None
        tx.change_message(mine.id, state="failed", text="changed")
        tx.report_segment(mine.id, 1, "delivered")
        tx.keep_references(mine.id, NUMBER, (), NOW)
        assert tx.sent_segments(7, NUMBER) == ()
        assert tx.sent_since(NOW - HOUR) == 0 and tx.handed_over(NOW - HOUR) == ()
    with store.read() as reader:
        assert [(message.text, message.state) for message in reader.outbox()] == [("a", "waiting")]
        assert [(sent.message, sent.segment, sent.outcome) for sent in reader.sent_segments(7, NUMBER)] == [
            (mine.id, 1, "")
        ]


def test_each_knows_its_own_newest(store, other):
    """The newest id is this site's, and a report is held against this site's newest segment: another's clock may be a month ahead."""
    with store.write() as tx:
        mine = tx.put_message(message("a"))
        tx.keep_references(mine.id, NUMBER, (7,), NOW)
        low = tx.keep_event(event())
    with other.write() as tx:
        assert tx.last_id("events") == 0 and tx.last_id("texts") == 0
        theirs = tx.put_message(message("b"))
        tx.keep_references(theirs.id, NUMBER, (8,), NOW + 31 * 24 * HOUR)
        tx.keep_event(event("high"))
    with store.read() as reader:
        assert reader.last_id("events") == low.id and reader.last_id("texts") == mine.id
        assert [(sent.message, sent.segment, sent.outcome) for sent in reader.sent_segments(7, NUMBER)] == [
            (mine.id, 1, "")
        ]


def test_each_keeps_its_own_books(store, other):
    """References, alarms, pauses, imports and who is forgotten."""
    old = Text(number=NUMBER, text="x", at=NOW, heard_at=NOW)
    with store.write() as tx:
        first = [tx.next_reference(), tx.next_reference()]
        alarm = tx.put_alarm(low())
        pause = tx.put_pause("house", NOW, NOW + HOUR, None)
        assert tx.keep_text(old, "read", import_key="k") is not None
    with other.write() as tx:
        assert [tx.next_reference(), tx.next_reference()] == first
        assert tx.alarms() == () and tx.pauses() == ()
        tx.put_alarm(replace(alarm, state="over", over_at=NOW))
        tx.end_pause(pause)
        tx.put_pause("house", NOW, NOW + HOUR, None)
        assert tx.keep_text(old, "read", import_key="k") is not None
        assert tx.forget(NUMBER) == 1
    with store.read() as reader:
        assert reader.alarms() == (alarm,) and len(reader.pauses()) == 1
        assert [text.text for text in reader.texts()] == ["x"]


@pytest.mark.parametrize("sites", [(SITE, SITE), (SITE, CREEK)])
def test_writers_at_once_lose_nothing(url, sites):
    """A counter read and written back by two at a time, of one site or of two, counts every round."""
    stores = [open_store(url, site) for site in sites]

    def count_up(store):
        for _ in range(25):
            with store.write() as tx:
                tx.set_state(CreditFailures(times=(tx.state(CreditFailures) or NONE).times + 1))
                tx.keep_event(event())

    with ThreadPoolExecutor(2) as both:
        list(both.map(count_up, stores))
    with stores[0].read() as reader:
        counted = [reader.of_site(site).state(CreditFailures).times for site in sites]
        assert counted == ([50, 50] if sites[0] == sites[1] else [25, 25])
        assert len({event.id for event in reader.events(all_sites=True)}) == 50
    for store in stores:
        store.close()


@pytest.mark.xdist_group("postgresql")
def test_a_site_that_takes_its_time_holds_up_no_other(postgresql):
    """Creek Flat writes while Quandong Ridge is in the middle of a transaction; a second writer of the Ridge waits."""
    url = postgresql.database()
    ridge, again, creek = (open_store(url, site) for site in (SITE, SITE, CREEK))
    done = threading.Event()

    def third():
        with again.write() as tx:
            tx.keep_event(event("high"))
        done.set()

    waiting = threading.Thread(target=third)
    with ridge.write() as tx:
        tx.keep_event(event("low"))
        waiting.start()
        with creek.write() as other:
            other.keep_event(event("note"))
        assert not done.is_set()
    waiting.join(WITHIN_S)
    with ridge.read() as reader:
        assert done.is_set() and [event.kind for event in reader.events()] == ["low", "high"]
    for store in (ridge, again, creek):
        store.close()


@pytest.mark.xdist_group("postgresql")
def test_one_gateway_a_site_wherever_it_runs(postgresql):
    """Two sites are served at once; a second gateway of one site is refused in words, also from another board."""
    url = postgresql.database()
    locks = [hold(url, SITE), hold(url, CREEK)]
    with pytest.raises(StoreHeld, match="process"):
        hold(url, SITE)
    locks[0].release()
    elsewhere = hold_site(url, SITE)
    with pytest.raises(StoreHeld, match="another gateway of the site 'Quandong Ridge'"):
        hold(url, SITE)
    elsewhere.dispose()
    hold(url, SITE).release()
    locks[1].release()


@pytest.fixture
def held(postgresql):
    """A gateway's store on the server, its site held."""
    url = postgresql.database()
    lock = hold(url, SITE)
    store = open_store(url, SITE, lock=lock)
    yield store
    store.close()
    lock.release()


@pytest.mark.xdist_group("postgresql")
@pytest.mark.parametrize("way", ["read", "write"])
def test_after_a_restart_of_the_server_the_site_is_held_again(postgresql, held, way):
    """With the first look or the first write; a second gateway is refused as before."""
    with held.write() as tx:
        tx.set_state(ONE)
    postgresql.halt()
    postgresql.start()
    with getattr(held, way)() as reader:
        assert reader.state(CreditFailures) == ONE
    with pytest.raises(StoreHeld, match="another gateway of the site 'Quandong Ridge'"):
        hold_site(held.url, SITE)


@pytest.mark.xdist_group("postgresql")
def test_what_another_gateway_took_meanwhile_is_left_to_it(postgresql, held):
    """Neither read nor written, also at the second try; once it is free it is taken again."""
    postgresql.halt()
    postgresql.start()
    other = hold_site(held.url, SITE)
    for way in (held.read, held.write, held.write):
        with pytest.raises(StoreHeld, match="another gateway of the site"), way() as tx:
            tx.set_state(ONE)
    other.dispose()
    with held.write() as tx:
        assert tx.state(CreditFailures) is None


@pytest.mark.xdist_group("postgresql")
def test_a_session_of_our_own_that_holds_nothing_is_not_waited_for(postgresql, held):
    """Such as one that was refused a moment ago: the other gateway has the site, and that is said at once."""
    with held.write() as tx:
        (name,) = tx._connection.execute(text("SELECT current_setting('application_name')")).one()
    postgresql.halt()
    postgresql.start()
    other = hold_site(held.url, SITE)
    ours = create_engine(
        held.url.replace("postgresql:", "postgresql+psycopg:"), connect_args={"application_name": name}
    )
    with ours.connect(), pytest.raises(StoreHeld, match="another gateway of the site"), held.write():
        pass
    ours.dispose(), other.dispose()


@pytest.mark.xdist_group("postgresql")
def test_a_session_of_our_own_on_a_dead_line_is_no_other_gateway(postgresql):
    """The server does not know yet that the line is dead: that session is ended, and the site held by the new one."""
    url = postgresql.database()
    lock = hold(url, SITE)
    lost = lock.holder.raw_connection()
    lost.detach()
    with open_store(url, SITE, lock=lock).write() as tx:
        tx.set_state(ONE)
    with pytest.raises(StoreHeld):
        hold_site(url, SITE)
    lost.close()
    lock.release()


@pytest.mark.xdist_group("postgresql")
def test_on_a_server_no_name_is_taken_over(postgresql):
    """A new gateway beside one other is new, not the other renamed."""
    url = postgresql.database()
    ridge, creek = open_store(url, SITE), open_store(url, CREEK)
    with ridge.write() as tx:
        tx.set_state(ONE)
    assert creek.adopt() is None
    with ridge.read() as reader:
        assert reader.state(CreditFailures) == ONE
    ridge.close()
    creek.close()


@pytest.mark.xdist_group("postgresql")
def test_gateways_that_start_at_once_make_the_tables_once(postgresql):
    """Four open an empty database in the same moment."""
    url = postgresql.empty()
    together = threading.Barrier(4)

    def start(number):
        together.wait(WITHIN_S)
        store = open_store(url, f"site {number}")
        with store.write() as tx:
            tx.keep_event(event())
        store.close()

    with ThreadPoolExecutor(4) as four:
        list(four.map(start, range(4)))
    store = open_store(url, SITE)
    with store.read() as reader:
        assert len(reader.events(all_sites=True)) == 4
    store.close()


@pytest.mark.xdist_group("postgresql")
@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("only-for-tests", "not-the-one"), "password authentication failed"),
        (("/postgres", "/nowhere"), 'database "nowhere" does not exist'),
        (("127.0.0.1:", "127.0.0.1:1"), "cannot be used"),
    ],
)
def test_a_server_that_cannot_be_used_is_said_without_its_password(postgresql, change, said):
    """Words, and no secret in them."""
    url = postgresql.url("postgres").replace(*change)
    with pytest.raises(StoreTrouble, match=said) as wrong:
        open_store(url, SITE)
    assert "only-for-tests" not in wrong.value.said and "not-the-one" not in wrong.value.said


def test_another_kind_of_database_is_refused():
    """What would be right is said."""
    with pytest.raises(StoreTrouble, match=r"right would be sqlite:////.*, or postgresql://"):
        open_store("mysql://gateway@server/water", SITE)
