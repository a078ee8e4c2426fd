"""Rows 18 to 48 that need no wire trouble: repeats, disk, clock, hostile texts, contacts, upgrade."""

import random
import sqlite3
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.errors import ModemTrouble, StoreDamaged, StoreNewer
from gateway.facts import Delivered, Report, Undecodable
from gateway.facts.states.gateway_itself import PublishedSite
from gateway.gsm.tpdu_key import tpdu_key
from gateway.modem.pdu import decode
from gateway.rules.rulebook import compile_rulebook
from gateway.settings.controller_tables import RuleTable
from gateway.settings.load import load
from gateway.simulator.pdus import deliver_pdus
from gateway.storage import open_store
from tests.fakes.fake_modem import refused
from tests.faults.board import UNLIMITED, Fresh, board
from tests.household import RIDGE, ROBIN, WREN, at_home, write_config


def test_row_18_network_repeats_a_text(tmp_path, trials):
    """The same PDU again and again is one event."""
    with at_home(tmp_path) as home:
        pdus = home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.came("low")
        for _ in range(trials(1000)):
            home.modem.network.deliver_pdu(pdus[0])
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        home.until(lambda: not home.modem.slots, "all slots freed")
        assert len(home.events("low")) == 1 and len(home.texts("in")) == 2


def test_row_27_damaged_store_is_refused_and_left_as_it_is(tmp_path, seed, trials):
    """Flipped or cut anywhere: said in words and byte for byte as it was, or opened because nothing that matters was hit."""
    file = tmp_path / "gateway.db"
    store = open_store(f"sqlite:///{file}", "Q")
    with store.write() as tx:
        for number in range(300):
            tx.set_state(PublishedSite(configuration="x" * 200), f"{number}")
    store.close()
    whole = file.read_bytes()
    rng = random.Random(seed)
    refused = 0
    for _ in range(trials(200)):
        broken = bytearray(whole)
        at = rng.randrange(len(broken))
        broken[at : at + 6000] = rng.randbytes(min(6000, len(broken) - at))
        file.write_bytes(broken)
        for ending in ("-wal", "-shm"):
            file.with_name(file.name + ending).unlink(missing_ok=True)
        try:
            open_store(f"sqlite:///{file}", "Q").close()
        except StoreDamaged as damaged:
            refused += 1
            assert "restore" in damaged.said and file.read_bytes() == bytes(broken)
        except Exception as other:
            assert type(other).__module__ == "gateway.errors", other
    assert refused > 0.9 * trials(200), "what was hit is noticed"


def test_row_35_a_wrong_reload_keeps_the_old_configuration(tmp_path, seed, trials):
    """The file is broken somewhere and read again: the old one stays in force and that is said; mended, it is taken."""
    rng = random.Random(seed)
    with board(tmp_path, rest="[limits]\nburst = 100000\na_day_each = 100000\n") as home:
        good = home.config.read_text()
        lines = [at for at, line in enumerate(good.split("\n")) if "=" in line]
        for number in range(trials(50)):
            broken = good.split("\n")
            broken[rng.choice(lines)] = rng.choice(["oops = 3", "nonsense", "name = ", 'country = "Atlantis"'])
            home.config.write_text("\n".join(broken))
            home.daemon.tell("reload")
            home.settle()
            assert len(home.events("reload-refused")) == number + 1
            assert home.daemon.site.tanks["house"].name == "House tank"
            home.config.write_text(good.replace("Ridge box", f"Ridge box {number}"))
            home.daemon.tell("reload")
            home.settle()
            assert home.daemon.site.controllers["ridge"].name == f"Ridge box {number}"


def test_row_34_mutated_configurations_never_crash(tmp_path, seed, trials):
    """Characters deleted, doubled, replaced: it loads, or every problem has a line and words."""
    from gateway.errors import ConfigurationWrong
    from gateway.settings.load import load_text

    good = write_config(tmp_path).read_text()
    rng = random.Random(seed)
    for _ in range(trials(500)):
        text = good
        for _ in range(rng.randrange(1, 4)):
            at = rng.randrange(len(text))
            text = text[:at] + rng.choice(["", "x", '"', "[", "=", "0", "\n", "}"]) + text[at + rng.randrange(0, 4) :]
        try:
            load_text(text, "gateway.toml")
        except ConfigurationWrong as wrong:
            assert all(problem.line >= 1 and problem.wrong for problem in wrong.problems)


EXPONENTIAL = (
    (r"(a|aa)+$", "a"),
    (r"(x|xx)+y", "x"),
    (r"([a-z]|[a-z]{2})+\d", "q"),
    (r"(a+)+$", "a"),
    (r"(.*a){12}$", "a"),
)


@pytest.mark.parametrize("scope", ["whole", "anywhere"])
@pytest.mark.parametrize(("pattern", "letter"), EXPONENTIAL)
def test_row_36_patterns_that_backtrack(pattern, letter, scope, trials):
    """A pattern that would hold an engine for years is given up on every path, and the text goes on unread."""
    book = compile_rulebook([RuleTable(regex=pattern, means="alive", scope=scope)])
    for length in range(40, 40 + trials(1000) // 5):
        text = letter * length + "!"
        read = book.read(text)
        assert read.rule is None
        assert [rule.fitted for rule in book.trace(text)] == [False]
    hard = pattern in {template for template, _ in EXPONENTIAL[:3]}
    assert read.timed_out or not hard


def test_row_14_undecodable_in_the_store(tmp_path, seed, trials):
    """A PDU broken anywhere: read, or kept raw and passed on; never lost, its slot freed, the next one read."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED) as home:
        whole = bytes.fromhex(deliver_pdus(RIDGE, "LINE 1 MADE 0717", home.clock.now().replace(microsecond=0))[0])
        undecodable: set[str] = set()
        for _ in range(trials(10_000)):
            broken = bytearray(whole)
            for _ in range(rng.randrange(1, 4)):
                broken[rng.randrange(len(broken))] = rng.randrange(256)
            cut = rng.choice([len(broken), len(broken), rng.randrange(1, len(broken))])
            pdu = bytes(broken[:cut]).hex().upper()
            undecodable |= {tpdu_key(pdu)} if isinstance(decode(pdu), Undecodable) else set()
            home.modem.deliver_pdus([pdu])
            if rng.random() < 0.1:
                home.settle()
                _kept_raw(home, undecodable)
        home.settle()
        _kept_raw(home, undecodable)
        assert undecodable


def _kept_raw(home, undecodable: set[str]) -> None:
    assert not home.modem.slots
    assert undecodable <= {tpdu_key(text.text) for text in home.texts("in")}


@settings(max_examples=300)
@given(st.binary(max_size=200))
def test_row_14_any_octets_decode_to_something(octets):
    """Whatever stands in a slot is a text, a report, or said to be undecodable; never an exception."""
    assert isinstance(decode(octets.hex().upper()), Delivered | Report | Undecodable)


NASTY = ("\x1a", "\x1b", "\r", "\n", "AT+CMGD=1,4", "\rAT+CPIN=0000\r", "\x00", "+++", "OK\r\n", "€", "😀", "a", " ")


def test_row_39_nothing_raw_on_the_wire(seed, trials):
    """Ctrl-Z, ESC or AT inside a text or a number leave as hexadecimal digits only, or are refused."""
    from gateway.modem.pdu import encode_submit

    rng = random.Random(seed)
    for _ in range(trials(10_000)):
        text = "".join(rng.choices(NASTY, k=rng.randrange(0, 60)))
        number = rng.choice(["+61491570156", "2222", "Quandong\x1a", "049\r157", "+61 491 570 156"])
        try:
            pdus = encode_submit(number, text, 1, True)
        except ModemTrouble:
            continue
        assert all(set(pdu.pdu) <= set("0123456789ABCDEF") for pdu in pdus)


def test_row_40_automatic_replies_looping(tmp_path):
    """A contact's phone answers each message by itself: one answer, no loop."""
    with at_home(tmp_path) as home:
        for number in range(6):
            home.modem.network.deliver(WREN, f"I am away from my phone ({number})")
            home.until(lambda wanted=number + 1: len(home.texts("in")) == wanted, "the reply is stored")
        assert len(home.texts("out")) == 1


def test_row_43_a_contact_removed_while_messages_wait(tmp_path, trials):
    """Messages to somebody who is no longer configured are cancelled, on record, also over a restart; the others go."""
    fresh = Fresh(tmp_path)
    for trial in range(trials(100)):
        home = fresh.board()
        home.start()
        home.modem.by_number = {ROBIN: refused(38)}
        home.hears(RIDGE, "LINE 1 MADE 0717")
        home.config.write_text(home.config.read_text().replace('id = "robin"', 'id = "finch"'))
        if trial % 2:
            home.daemon.tell("reload")
        else:
            home.settings = load(str(home.config)).settings
            home.cut()
            home.start()
        home.settle()
        home.pass_time(timedelta(minutes=5))
        assert [event.detail["contact"] for event in home.events("cancelled")] == ["robin"]
        assert [text.state for text in home.texts("out") if text.contact == "robin"] == ["failed"]
        assert home.arrived(WREN)
        home.cut()


def test_row_48_a_newer_store_is_refused_untouched(tmp_path):
    """Written by a newer program: refused in words, byte for byte as it was."""
    file = tmp_path / "gateway.db"
    open_store(f"sqlite:///{file}", "Q").close()
    connection = sqlite3.connect(file)
    connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.commit()
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    before = file.read_bytes()
    with pytest.raises(StoreNewer, match="newer"):
        open_store(f"sqlite:///{file}", "Q")
    assert file.read_bytes() == before


def test_row_65_what_is_for_the_phone_is_told_to_nobody(tmp_path):
    """A test whether the box's number is on, a push for a program: a line each, no message, no event, no sign of life; once, also in parts."""
    with board(tmp_path, controller='silence_after = "1h"\nask = { before_silence = "0s" }') as home:
        home.hears(RIDGE, "STATION WELL 1")
        home.pass_time(timedelta(minutes=50), at_least_s=60)
        before = len(home.events())
        (pdu,) = deliver_pdus(RIDGE, "x", home.modem.now())
        centre, sender, stamp = pdu[:16], pdu[18:34], pdu[38:52]
        for first, protocol_and_coding, data in (
            ("04", "4000", "00"),
            ("44", "00F5", "09060504" + "0B8423F0" + "0102"),
        ):
            home.modem.deliver_pdus([centre + first + sender + protocol_and_coding + stamp + data] * 2)
            home.settle()
        assert [text.state for text in home.texts("in")][-2:] == ["ignored", "ignored"] and len(home.repeats()) == 2
        assert "type 0" in home.texts("in")[-2].text and "port 2948" in home.texts("in")[-1].text
        assert len(home.events()) == before and not home.arrived() and not home.modem.slots
        home.pass_time(timedelta(minutes=15), at_least_s=60)
        assert len(home.events("silent")) == 1


@pytest.mark.parametrize("protocol", range(0x41, 0x48))
def test_row_65_a_text_that_replaces_another_is_an_arrival_of_its_own(tmp_path, protocol):
    """A newer one of its sender and type takes the older one's slot in the modem (23.040 9.2.3.9): both are kept, read and told."""
    with board(tmp_path, rest=UNLIMITED) as home:

        def comes(words):
            (pdu,) = deliver_pdus(RIDGE, words, home.modem.now())
            home.modem.deliver_pdus([f"{pdu[:34]}{protocol:02X}{pdu[36:]}"])
            home.settle()

        comes("LINE 1 MADE 0717")
        home.clock.advance(timedelta(minutes=2))
        comes("LINE 1 BROKE 0719")
        assert [text.text for text in home.texts("in")] == ["LINE 1 MADE 0717", "LINE 1 BROKE 0719"]
        assert [len(home.events(kind)) for kind in ("low", "low-over")] == [1, 1] and not home.modem.slots
