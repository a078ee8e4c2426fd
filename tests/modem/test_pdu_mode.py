"""A message is handed over in PDU mode only: asked for, or shown a moment ago; and the echo gives a reset away."""

import pytest

from gateway.modem.parse_listing import ResetSeen
from gateway.modem.pdu_mode import RESET_TAKES_S, PduMode
from tests.modem.test_dialogue import OK, talk

PROMPT = (0.01, "> ")


def mode(*answers):
    """On a scripted wire, set up."""
    dialogue, wire, _ = talk(*answers)
    made = PduMode(dialogue, within_s=1.0, monotonic=lambda: wire.now)
    made.note_echo()
    return made, dialogue, wire


@pytest.mark.parametrize(("waited_s", "asks"), [(0.0, False), (RESET_TAKES_S * 0.9, False), (RESET_TAKES_S, True)])
def test_it_is_asked_unless_it_was_shown_a_moment_ago(waited_s, asks):
    """No modem comes back from a reset within half a second."""
    pdu_mode, _, wire = mode([(0.01, "+CMGF: 0"), OK])
    pdu_mode.was_shown()
    wire.now += waited_s
    pdu_mode.make_sure()
    assert bool(wire.written) is asks


def test_text_mode_is_a_reset():
    """Nothing more is said to it."""
    pdu_mode, _, wire = mode([(0.01, "+CMGF: 1"), OK])
    with pytest.raises(ResetSeen):
        pdu_mode.make_sure()
    assert wire.written == [b"AT+CMGF?\r"]


def test_where_it_cannot_be_asked_it_is_set():
    """A modem that does not answer the question."""
    pdu_mode, _, wire = mode([(0.01, "ERROR")], [OK])
    pdu_mode.make_sure()
    assert wire.written == [b"AT+CMGF?\r", b"AT+CMGF=0\r"]


def test_an_echo_at_the_prompt_gives_a_reset_away():
    """However short the time: the prompt is left before anything was handed over."""
    pdu_mode, dialogue, wire = mode([(0.01, "AT+CMGS=25"), PROMPT], [OK], [OK], [OK])
    pdu_mode.was_shown()
    pdu_mode.make_sure()
    dialogue.prompt("AT+CMGS=25", within_s=1.0)
    with pytest.raises(ResetSeen):
        pdu_mode.make_sure_at_prompt()
    assert wire.written[1] == b"\x1b"


def test_a_modem_that_always_echoes_is_asked_each_time():
    """By its echo nothing can be told."""
    pdu_mode, dialogue, wire = mode([(0.01, "AT+CMEE=1"), OK], [(0.01, "AT+CMGF?"), (0.01, "+CMGF: 0"), OK])
    dialogue.command("AT+CMEE=1")
    pdu_mode.note_echo()
    pdu_mode.was_shown()
    pdu_mode.make_sure()
    pdu_mode.make_sure_at_prompt()
    assert wire.written[-1] == b"AT+CMGF?\r" and not pdu_mode.echo_is_back
