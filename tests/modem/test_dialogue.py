"""In step with the modem: an answer that comes after it was given up is no other command's answer."""

from collections import deque

import pytest

from gateway.errors import ModemRefused, ModemSilent
from gateway.modem.dialogue import Dialogue
from gateway.modem.unasked_lines import Unasked


class Script:
    """A wire on a clock of its own: after each write come these lines, each so many seconds later than the one before."""

    def __init__(self, *answers: list[tuple[float, str]]) -> None:
        self.now, self.written = 0.0, []
        self._answers = deque(answers)
        self._coming: deque[tuple[float, bytes]] = deque()

    def write(self, data: bytes) -> None:
        """Answers in order, each behind what is still to come."""
        self.written.append(data)
        if data == b"\x1b" or not self._answers:
            return
        at = max([self.now, *(when for when, _ in self._coming)])
        for after_s, line in self._answers.popleft():
            at += after_s
            self._coming.append((at, f"\r\n{line}\r\n".encode("latin-1")))

    def skip(self, answer: list[tuple[float, str]]) -> None:
        """What was meant for probes that were not needed."""
        while self._answers and self._answers[0] == answer:
            self._answers.popleft()

    def read(self, timeout_s: float, *, wakeable: bool = False) -> bytes:
        """What comes next within the time."""
        if self._coming and self._coming[0][0] <= self.now + timeout_s:
            at, data = self._coming.popleft()
            self.now = max(self.now, at)
            return data
        self.now += max(timeout_s, 0.001)
        return b""


def talk(*answers: list[tuple[float, str]]) -> tuple[Dialogue, Script, list[Unasked]]:
    """A dialogue, the script it is on, and what it hears unasked."""
    wire, heard = Script(*answers), []
    return Dialogue(wire, lambda: wire.now, heard.append), wire, heard


OK = (0.01, "OK")
OF_A_CALL = ("NO CARRIER", "BUSY", "NO ANSWER", "NO DIALTONE", "RING", "CONNECT 9600")
LISTED = ["+CMGL: 3,0,,29", "0791", "+CMGL: 4,1,,29", "0791"]


@pytest.mark.parametrize("late_s", [1.1, 1.5, 3.0])
def test_a_late_answer_shifts_nothing(late_s):
    """The slot is listed too late; the next command still gets its own answer and not that one's."""
    listing = [(late_s, "+CMGL: 3,0,,29"), (0.01, "0791"), OK]
    dialogue, wire, _ = talk(listing, [OK], [OK], [OK], [OK], [(0.01, "+CSQ: 17,99"), OK], [(0.01, "+CREG: 0,1"), OK])
    with pytest.raises(ModemSilent):
        dialogue.command("AT+CMGL=4", within_s=1.0)
    assert dialogue.resynchronise(within_s=2.0)
    wire.skip([OK])
    assert dialogue.command("AT+CSQ") == ["+CSQ: 17,99"]
    assert dialogue.command("AT+CREG?") == ["+CREG: 0,1"]


@pytest.mark.parametrize("result", ["OK", "+CMS ERROR: 500"])
def test_a_result_that_comes_much_later_is_known_by_its_line(result):
    """A message's result arrives in the middle of another answer: it ends nothing."""
    dialogue, _, _ = talk([(0.01, "+CMGS: 7"), (0.01, result), (0.01, "+CSQ: 17,99"), OK])
    assert dialogue.command("AT+CSQ") == ["+CSQ: 17,99"]


def test_a_modem_that_answers_twice_for_ever_is_never_in_step():
    """It is opened anew rather than believed."""
    dialogue, _, _ = talk(*[[OK, OK]] * 9)
    assert not dialogue.resynchronise(within_s=1.0)


def test_a_refusal_is_a_result_too():
    """ERROR to a plain AT ends it as well as OK; what is said unasked in between is heard and counts for nothing."""
    dialogue, _, heard = talk([(0.01, "ERROR"), (0.01, '+CMTI: "SM",4')], [OK])
    assert dialogue.resynchronise(within_s=1.0)
    assert [news.line for news in heard] == ['+CMTI: "SM",4']


def test_an_error_of_its_own_is_raised():
    """A refusal of the command in flight is still its refusal."""
    dialogue, _, _ = talk([(0.01, "+CMS ERROR: 321")])
    with pytest.raises(ModemRefused):
        dialogue.command("AT+CMGR=4")


@pytest.mark.parametrize("line", OF_A_CALL)
@pytest.mark.parametrize("place", range(len(LISTED) + 1))
def test_what_ends_a_call_ends_no_command(line, place):
    """The gateway never dials: between any two lines of an answer it is news of a call that nobody here made (V.250 6.3.1)."""
    answer = [(0.01, part) for part in (*LISTED[:place], line, *LISTED[place:])]
    dialogue, _, heard = talk([*answer, OK], [OK])
    assert dialogue.command("AT+CMGL=4") == LISTED
    assert [news.line for news in heard] == [line]
    assert dialogue.command("AT") == []


@pytest.mark.parametrize("line", OF_A_CALL)
def test_what_ends_a_call_refuses_no_message(line):
    """Neither before the prompt nor behind the text."""
    dialogue, _, heard = talk([(0.01, line), (0.01, "> ")], [(0.01, line), (0.01, "+CMGS: 7"), OK])
    dialogue.prompt("AT+CMGS=25", within_s=1.0)
    assert dialogue.hand_over("0011", "AT+CMGS=25", within_s=1.0) == ["+CMGS: 7"]
    assert [news.line for news in heard] == [line, line]


@pytest.mark.parametrize("line", OF_A_CALL)
def test_what_ends_a_call_is_no_name(line):
    """Of a command whose answer has no prefix it is no answer either."""
    dialogue, _, _ = talk([(0.01, line), (0.01, "QR-21"), OK])
    assert dialogue.command("AT+CGMM", bare=True) == ["QR-21"]


@pytest.mark.parametrize(
    ("line", "answered"),
    [
        ("ok", []),
        ("\x11OK\x13", []),
        ("+CMS ERROR 321", ("cms", 321)),
        ("+CMS ERROR : 321", ("cms", 321)),
        ("+cms error: 321", ("cms", 321)),
        ("error", ("", None)),
        ("ERROR: 321", ("", None)),
        ("+EXT ERROR: 3", ("", None)),
    ],
)
def test_results_in_every_writing(line, answered):
    """Small, with a space or none before the colon, between flow control; what is refused is not waited for until the time is over."""
    dialogue, _, _ = talk([(0.01, line)])
    if answered == []:
        assert dialogue.command("AT+CMGD=4") == []
        return
    with pytest.raises(ModemRefused) as refused:
        dialogue.command("AT+CMGD=4")
    assert (refused.value.family, refused.value.code) == answered


@pytest.mark.parametrize("line", ["+csq: 17,99", "+CSQ : 17,99", "+csq :17,99", "\x13+CSQ: 17,99\x11"])
def test_names_in_every_writing(line):
    """An answer like any other."""
    dialogue, _, _ = talk([(0.01, line), OK])
    assert [part.replace(" ", "") for part in dialogue.command("AT+CSQ")] == ["+CSQ:17,99"]


def test_a_name_with_a_comma_makes_no_text_mode():
    """The line behind a +CMT is its PDU where it is as long as the last field says; else its words."""
    pdu = "0011000B911694510751F60000AA05C8329BFD06"
    for length, came in ((19, (pdu, None)), (18, (None, pdu))):
        dialogue, _, heard = talk([(0.01, f"+CMT: Ridge, box,{length}"), (0.01, pdu), (0.01, "+CSQ: 17,99"), OK])
        assert dialogue.command("AT+CSQ") == ["+CSQ: 17,99"]
        assert [(news.pdu, news.words) for news in heard] == [came]


@pytest.mark.parametrize("lost_before", [0, 1])
def test_a_slow_listing_is_whole_though_an_ok_was_lost_once(lost_before):
    """One OK that the wire lost is no habit: a memory that takes two seconds for each line was taken for one that holds less."""
    lost = [[(0.01, line) for line in LISTED], [OK], [OK]] * lost_before
    slowly = [(2.0, line) for line in LISTED]
    dialogue, _, _ = talk(*lost, [*slowly, OK])
    for _ in range(lost_before + 1):
        assert dialogue.command("AT+CMGL=4", within_s=60.0) == LISTED


def test_a_make_that_leaves_out_ok_is_not_waited_for_for_ever():
    """Twice in a row is a habit."""
    listing = [(0.01, line) for line in LISTED]
    dialogue, wire, _ = talk(*[listing, [OK], [OK]] * 3)
    for within_s in (60.0, 60.0, 1.2):
        began = wire.now
        assert dialogue.command("AT+CMGL=4", within_s=60.0) == LISTED
        assert (wire.now - began < 10.0) is (within_s < 60.0)
