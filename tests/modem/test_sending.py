"""How a message ended: nothing has left before its PDU was written, and from then on only the modem's own word counts."""

import pytest

from gateway.modem import Times
from gateway.modem.pdu_mode import PduMode
from gateway.modem.sending import Sender, reference_in
from gateway.ports import SendJob
from tests.modem.test_dialogue import OK, talk

PROMPT, MODE = [(0.01, ">")], [(0.01, "+CMGF: 0"), OK]
TWO_SEGMENTS = "House tank is low. " * 10


def taken(reference):
    return [(0.01, f"+CMGS: {reference}"), OK]


def send(*answers, text="House tank is low", number="+61491570156"):
    """What became of it, and what was written: the mode is asked for, then so."""
    dialogue, wire, _ = talk(MODE, *answers, *[[OK]] * 9)
    sender = Sender(dialogue, PduMode(dialogue, within_s=1.0, monotonic=lambda: wire.now), Times(result_s=5.0))
    ended = sender.send(SendJob(id=7, number=number, text=text, reference=1))
    return ended, sender, wire


def test_sent_with_the_reference_of_each_segment():
    """In order; the mode is shown by the first one's answer and not asked for again."""
    ended, sender, wire = send(PROMPT, taken(41), PROMPT, taken(42), text=TWO_SEGMENTS)
    assert (ended.job, ended.outcome, ended.references) == (7, "sent", (41, 42))
    assert sender.handed_over and wire.written.count(b"AT+CMGF?\r") == 1


@pytest.mark.parametrize("refusal", ["+CMS ERROR: 38", "ERROR"])
def test_refused_before_the_prompt_cannot_have_left(refusal):
    """Whatever the code would say of it later."""
    ended, sender, wire = send([(0.01, refusal)])
    assert (ended.outcome, ended.may_have_left, sender.handed_over) == ("refused", False, False)
    assert b"\x1b" in wire.written


@pytest.mark.parametrize(("refusal", "may_have_left"), [("+CMS ERROR: 38", True), ("+CMS ERROR: 1", False)])
def test_refused_behind_the_text(refusal, may_have_left):
    """Its code decides; the modem's words are told."""
    ended, _, _ = send(PROMPT, [(0.01, refusal)])
    assert (ended.outcome, ended.may_have_left, refusal in ended.said) == ("refused", may_have_left, True)


def test_silence_before_the_prompt_is_not_sent():
    """The prompt is left with ESC: what comes next must not be taken for text."""
    ended, _, wire = send([])
    assert (ended.outcome, wire.written[2]) == ("not-sent", b"\x1b")


def test_silence_behind_the_text_is_unsure():
    """And what the late answer may bring is let go before anything else is asked."""
    ended, sender, wire = send(PROMPT, [])
    assert (ended.outcome, sender.handed_over) == ("unsure", True)
    assert wire.written[3] == b"\x1b"


def test_a_late_answer_settles_what_was_unsure():
    """It comes after the message was given up; one that belongs to none says nothing."""
    ended, sender, _ = send(PROMPT, [])
    assert ended.outcome == "unsure"
    late = sender.settle_late("+CMGS: 7")
    assert (late.job, late.outcome, late.references, late.late) == (7, "sent", (7,), True)
    assert sender.settle_late("+CMGS: 8") is None


def test_ok_without_a_reference_is_unsure():
    """OK alone is the answer to ESC too."""
    ended, _, wire = send(PROMPT, [OK])
    assert ended.outcome == "unsure" and b"\x1b" in wire.written


@pytest.mark.parametrize(
    ("second", "outcome"), [([[]], "unsure"), ([PROMPT, []], "unsure"), ([[(0.01, "ERROR")]], "refused")]
)
def test_what_left_before_is_told(second, outcome):
    """The first segment left: with silence for the second the whole is unsure, prompt or not."""
    ended, _, _ = send(PROMPT, taken(41), *second, text=TWO_SEGMENTS)
    assert (ended.outcome, ended.references) == (outcome, (41,))


def test_what_cannot_be_encoded_is_never_sent():
    """A number of letters: nothing is said to the modem."""
    ended, sender, wire = send(number="RidgeBox")
    assert (ended.outcome, ended.verdict, ended.may_have_left) == ("refused", "never", False)
    assert not sender.handed_over and not wire.written


@pytest.mark.parametrize(
    ("lines", "reference"),
    [
        (["+CMGS: 41"], 41),
        (["+CMGS:0"], 0),
        (['+CMGS: 255,"26/11/26,12:00:00+40"'], 255),
        (["> ", "+CMGS: 7"], 7),
        ([], None),
    ],
)
def test_the_reference(lines, reference):
    """With a time stamp or the service centre's answer behind it, or without (27.005 3.5.1)."""
    assert reference_in(lines) == reference
