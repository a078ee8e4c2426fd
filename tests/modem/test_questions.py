"""A short code's way: asked at once, answered later, left where it is a menu, given up after its time."""

import pytest

from gateway.modem.ussd import Questions
from tests.modem.test_dialogue import OK, talk

ERROR = (0.01, "ERROR")


def asked(*answers, code="*100#"):
    """The questions of a modem that answers so, after the first was asked; what was told; what was written."""
    dialogue, wire, _ = talk(*answers)
    told = []
    questions = Questions(lambda: wire.now, told.append, 60.0)
    assert not questions.step(dialogue) and questions.due_s == float("inf")
    questions.ask(code)
    assert questions.step(dialogue)
    return questions, dialogue, wire, told


def test_the_answer_comes_later():
    """It is waited for without a word; one that nobody waits for is let go."""
    questions, dialogue, wire, told = asked([OK])
    assert wire.written == [b'AT+CUSD=1,"*100#",15\r'] and 59 < questions.due_s - wire.now <= 60
    assert not questions.step(dialogue) and told == []
    questions.hear('+CUSD: 0,"Credit 3",15')
    questions.hear('+CUSD: 0,"Credit 4",15')
    assert [(each.code, each.said, each.why) for each in told] == [("*100#", "Credit 3", "")]
    assert questions.due_s == float("inf") and not questions.step(dialogue)


@pytest.mark.parametrize("leaving", [OK, ERROR])
def test_a_menu_is_left(leaving):
    """And a refusal of that means that it is over already."""
    questions, dialogue, wire, told = asked([OK], [leaving])
    questions.hear('+CUSD: 1,"1 Credit",15')
    assert told[0].said == "1 Credit" and questions.step(dialogue)
    assert wire.written[-1] == b"AT+CUSD=2\r" and not questions.step(dialogue)


def test_no_answer_in_time_is_one():
    """Told, and the dialogue is left; the next question is asked then."""
    questions, dialogue, wire, told = asked([OK], [OK], [OK])
    questions.ask("*101#")
    wire.now = questions.due_s - 0.5
    assert not questions.step(dialogue) and told == []
    wire.now = questions.due_s
    assert questions.step(dialogue)
    assert [(each.said, each.why) for each in told] == [(None, "no answer within 60 s")]
    assert questions.step(dialogue) and wire.written[-1] == b"AT+CUSD=2\r"
    assert questions.step(dialogue) and wire.written[-1] == b'AT+CUSD=1,"*101#",15\r'


@pytest.mark.parametrize(
    ("answers", "code", "why", "written"),
    [
        ([[ERROR]], "*100#", "the modem refused it (ERROR)", 1),
        ([], "credit", "this is no code that a network knows", 0),
    ],
)
def test_what_is_not_asked(answers, code, why, written):
    """Told at once."""
    questions, _, wire, told = asked(*answers, code=code)
    assert [(each.code, each.said, each.why) for each in told] == [(code, None, why)]
    assert len(wire.written) == written and questions.due_s == float("inf")


def test_an_answer_within_the_command_and_a_modem_that_goes_away():
    """Some makes say it before their OK; what was asked of one that is gone has its answer."""
    _, _, _, told = asked([(0.01, '+CUSD: 0,"Credit 3",15'), OK])
    assert [each.said for each in told] == ["Credit 3"]
    questions, dialogue, _, told = asked([OK])
    questions.lose("it was unplugged")
    questions.lose("it was unplugged")
    assert [(each.said, each.why) for each in told] == [(None, "it was unplugged")] and not questions.step(dialogue)
