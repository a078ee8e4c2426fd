"""A raw text becomes a named event and a plain message on every right phone: real pty, pyserial, AT dialogue, SQLite."""

import json

import pytest

from gateway.__main__ import main
from gateway.modem import Times
from tests.household import RIDGE, ROBIN, STRANGER, WREN, at_home


def test_low_is_told_to_all_and_over_too(tmp_path):
    """The main job, from the text to both phones, and back to normal."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        first = home.sent(2)
        assert {number for number, _ in first} == {WREN, ROBIN}
        assert all("House tank LOW since" in text and len(text) <= 160 for _, text in first)
        home.modem.network.deliver(RIDGE, "LINE 1 BROKE 1120")
        later = home.sent(4)[2:]
        assert all("House tank is no longer low" in text for _, text in later)
        assert [event.kind for event in home.events("low", "low-over")] == ["low", "low-over"]
        home.until(lambda: not home.modem.slots, "slots freed")
        home.until(lambda: {text.state for text in home.texts("out")} == {"delivered"}, "delivery reports")
        assert [text.state for text in home.texts("in")] == ["read", "read"]
        assert home.texts("in")[0].event == home.events("low")[0].id


def test_unread_goes_on_word_for_word_to_controllers_only(tmp_path):
    """What no rule reads reaches those who look after controllers, unchanged; Robin only hears of tanks."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "FLT 07 AUX {LID}?")
        assert [number for number, _ in home.sent(1)] == [WREN]
        assert "FLT 07 AUX {LID}?" in home.sent(1)[0][1]
        assert [text.state for text in home.texts("in")] == ["unread"]
        assert home.events("unread")[0].text == "FLT 07 AUX {LID}?"


def test_a_long_unread_text_loses_no_word(tmp_path):
    """A text longer than a segment goes on in several messages, each of one segment."""
    raw = "".join(f"item {number} odd; " for number in range(30)).strip()
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, raw)
        home.came("unread")
        home.until(lambda: all(text.state == "delivered" for text in home.texts("out")), "all pieces delivered")
        pieces = [text for text in home.texts("out")]
        assert raw in "".join(piece.text for piece in pieces)
        assert all(piece.segments == 1 for piece in pieces)


def test_strangers_move_nothing(tmp_path):
    """A stranger's text, worded like the box's, is kept and asked about; it moves nothing and gets no answer."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(STRANGER, "LINE 1 MADE 0717")
        home.modem.network.deliver(STRANGER, "OK")
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert [text.state for text in home.texts("in")] == ["stranger", "stranger", "read"]
        assert not home.events("low")
        assert [(text.contact, text.text[:30]) for text in home.texts("out")] == [
            ("wren", "Looks like Ridge box, from 049")
        ]


@pytest.mark.parametrize("number", ["61491570006", "0491570006", "0491 570006"])
def test_a_name_of_digits_is_no_controller(tmp_path, capsys, number):
    """Anybody can buy a sender's name: made of the box's number it moves nothing, and is shown as it came."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(f'"{number}"', "LINE 1 MADE 0717")
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert [text.state for text in home.texts("in")] == ["stranger", "read"]
        assert not home.events("low") and not home.texts("out")
    assert main(["texts", "--config", str(tmp_path / "gateway.toml"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["texts"][0]["number"] == number


def test_a_name_of_digits_takes_no_alarm(tmp_path):
    """Nor does a contact's number as a name answer for that contact."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.modem.network.deliver('"61491570156"', "OK")
        home.modem.network.deliver('"0491570156"', "STATUS")
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert [(text.state, text.contact) for text in home.texts("in")][1:3] == [("stranger", None)] * 2
        assert not home.events("taken") and len(home.texts("out")) == 2


def test_an_input_without_a_float_is_noise_not_silence(tmp_path):
    """A reading of an input that belongs to no tank is passed on: nobody knows what it means."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "LINE 9 MADE 0717")
        assert "LINE 9 MADE 0717" in home.sent(1)[0][1]
        assert home.events("unread")[0].detail["why"] == "no float is on input 9"


def test_the_same_pdu_again_is_one_event(tmp_path):
    """The network repeats a text: one event, one round of messages."""
    with at_home(tmp_path) as home:
        pdus = home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.modem.network.deliver_pdu(pdus[0])
        home.until(lambda: not home.modem.slots, "both slots freed")
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert len(home.events("low")) == 1 and len(home.texts("out")) == 2


def test_parts_shuffled_and_doubled_are_one_text(tmp_path):
    """A long text in any order, a part twice: read once, as a whole."""
    with at_home(tmp_path) as home:
        long = "STATION WELL " + "x" * 300
        home.modem.network.deliver(RIDGE, long, parts_order=(3, 1, 1, 2))
        home.came("alive")
        assert [text.text for text in home.texts("in")] == [long]


@pytest.mark.parametrize("raw", ["LINE 1 MADE → übermäßig", "line   01   made x", "LINE 1 MADE SUPPLY 12.4 V"])
def test_dialects_of_one_rule(tmp_path, raw):
    """Case, white space, leading zeros, other alphabets behind a star: the same event."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, raw)
        assert home.came("low")[0].tank == "house"


def test_settle_waits_and_counts(tmp_path):
    """With `settle` a switch that does not hold is nothing; one that holds counts from when it was read."""
    with at_home(tmp_path, float='settle = "1s"') as home:
        home.modem.network.deliver(RIDGE, "LINE 1 BROKE 1")
        home.modem.network.deliver(RIDGE, "LINE 2 MADE 2")
        home.modem.network.deliver(RIDGE, "LINE 2 BROKE 3")
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 4")
        low = home.came("low")
        assert [event.tank for event in low] == ["house"]
        home.sent(2)


def test_silence_once_and_heard_again(tmp_path):
    """A box that falls silent is told once, its tanks are unknown; the next text ends it."""
    with at_home(tmp_path, controller='silence_after = "2s"') as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("silent")
        assert "Ridge box SILENT" in home.sent(1)[0][1]
        home.modem.network.deliver(RIDGE, "STATION WELL 2")
        home.came("heard-again")
        assert "heard again" in home.sent(2)[1][1]
        assert len(home.events("silent")) == 1


def test_unplugged_and_plugged_again(tmp_path):
    """The modem goes and comes: on record, and what came meanwhile is read."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        home.modem.unplug()
        home.came("modem-lost")
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.modem.plug()
        home.came("modem-back")
        assert home.came("low")[0].tank == "house"
        home.sent(2)


def test_a_contact_who_always_fails_delays_nobody(tmp_path):
    """One number is refused for good: given up on record, told to the other, who has the message."""
    from gateway.simulator import Policy

    with at_home(tmp_path) as home:
        home.modem.network.policy(ROBIN, Policy(refuse=1))
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.came("given-up")
        sent = home.sent(2)
        assert {number for number, _ in sent} == {WREN} and "Robin could not be told" in sent[1][1]
        assert {text.state for text in home.texts("out") if text.contact == "robin"} == {"failed"}


def test_an_answer_that_is_lost_is_unsure_and_sent_again_marked(tmp_path):
    """What was handed over without an answer is unsure; it goes again, marked as a possible repeat (fault 8)."""
    with at_home(tmp_path, times=Times(result_s=0.3)) as home:
        home.modem.faults.lost_answers = 1
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.until(lambda: any(text.state == "unsure" for text in home.texts("out")), "an unsure message")
        home.until(lambda: any(text.state == "delivered" for text in home.texts("out")), "the other was not held up")


def test_what_stood_at_sending_is_marked_after_a_restart(tmp_path):
    """Killed between handing over and marking: at the next start it goes again, marked (fault 24)."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.until(lambda: {text.state for text in home.texts("out")} == {"delivered"}, "delivered")
        with home.built.store.write() as tx:
            tx.change_message(home.texts("out")[0].id, state="sending")
    with at_home(tmp_path) as home:
        assert home.sent(1)[0][1].startswith("(Perhaps a repeat)")
