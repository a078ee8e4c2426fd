"""The simulated modem over a real pseudo-terminal, spoken to with plain pyserial."""

from datetime import UTC, datetime

import pytest
from gsmmodem.pdu import encodeSmsSubmitPdu

from gateway.simulator import Habits, Policy

read_incoming_sms = pytest.importorskip(
    "smspdudecoder.easy", reason="its library has no wheel for a 32-bit board"
).read_incoming_sms

RIDGE, WREN = "+61491570006", "+61491570156"
STAMP = datetime(2026, 11, 25, 3, 4, 5, tzinfo=UTC)


def submit(number: str, text: str, *, report: bool = True) -> list[tuple[str, int]]:
    """PDUs by another library: its encoder is the oracle for this decoder."""
    pdus = encodeSmsSubmitPdu(number, text, reference=7, requestStatusReport=report)
    return [(str(pdu), pdu.tpduLength) for pdu in pdus]


@pytest.mark.parametrize(
    ("command", "answer"),
    [
        ("AT", ["OK"]),
        ("AT+CGMM", ["QR-21", "OK"]),
        ("AT+CPIN?", ["+CPIN: READY", "OK"]),
        ("AT+CPMS?", ['+CPMS: "SM",0,30,"SM",0,30,"SM",0,30', "OK"]),
        ('AT+CPMS="ME","ME","ME"', ["+CPMS: 0,100,0,100,0,100", "OK"]),
        ("AT+CMGL=4", ["OK"]),
        ("AT+CMGR=1", ["+CMS ERROR: 321"]),
        ("AT+CMGR=99", ["+CMS ERROR: 321"]),
        ("AT+CSQ", ["+CSQ: 17,99", "OK"]),
        ("AT+CREG?", ["+CREG: 0,1", "OK"]),
        ("AT+COPS?", ['+COPS: 0,0,"Quandong Mobile",7', "OK"]),
        ("AT+NOSUCH", ["+CME ERROR: 4"]),
        ("AT+CNMI=2,1,0,1,0", ["OK"]),
        ("AT+CNMI=2,1,0,2,0", ["+CMS ERROR: 303"]),
        ("AT+CNMI=2,3,0,1,0", ["+CMS ERROR: 303"]),
        ("AT+CNMI=2,1,1,1,0", ["+CMS ERROR: 303"]),
        ("AT+CNMI=9,1,0,1,0", ["+CMS ERROR: 303"]),
        ("AT+CNMI=2,1,0,1,9", ["+CMS ERROR: 303"]),
        ("ATX9", ["OK"]),
        ("ATK", ["ERROR"]),
    ],
)
def test_commands_are_answered(start, command, answer):
    """Each command gets the lines the standards give it."""
    _, line = start()
    assert line.ask(command) == answer


def test_a_modem_that_starts_afresh_has_its_settings_back(start):
    """Echo among them; the radio switched on alone changes nothing of that (27.007, +CFUN)."""
    _, line = start()
    assert line.ask("AT+CFUN=1") == line.ask("AT") == ["OK"]
    line.ask("AT+CFUN=1,1")
    assert line.ask("AT") == ["AT", "OK"]


def test_delivered_text_is_listed(start):
    """A text lies in the first slot as the PDU another decoder reads too."""
    modem, line = start()
    modem.network.deliver(RIDGE, "LINE 1 MADE {house} €5", stamp=STAMP)
    head, pdu, final = line.ask("AT+CMGL=4")
    read = read_incoming_sms(pdu)
    assert head == f"+CMGL: 1,0,,{len(pdu) // 2 - 8}"
    assert (read["sender"], read["content"], read["date"].astimezone(UTC)) == (
        RIDGE,
        "LINE 1 MADE {house} €5",
        STAMP,
    )
    assert final == "OK"
    assert line.ask("AT+CMGD=1") == ["OK"]
    assert modem.slots == {}


def test_announcement_follows_cnmi(start):
    """+CMTI names memory and slot, once +CNMI asked for it."""
    modem, line = start(habits=Habits(first_slot=0, new_texts_in="ME"))
    modem.network.deliver(RIDGE, "before")
    assert line.ask("AT+CNMI=2,1,0,1,0") == ["OK"]
    modem.network.deliver(RIDGE, "after")
    assert line.read_line() == '+CMTI: "ME",1'


@pytest.mark.parametrize("text", ["Header tank is low", "x" * 500, "Wasser läuft ☔", "Вода ушла. " * 12])
def test_handed_over_text_is_read(start, text):
    """Whatever the segments, `outgoing` has the text, and each segment is reported on."""
    modem, line = start()
    line.ask("AT+CNMI=2,1,0,1,0")
    segments = submit(WREN, text)
    for place, (pdu, length) in enumerate(segments, 1):
        assert line.send(pdu, length) == [f"+CMGS: {place}", "OK"]
        assert line.read_line().startswith("+CDS: ")
        assert f"06{place:02X}0B911694" in line.read_line()
    (sent,) = modem.network.wait_for_outgoing(1)
    assert (sent.number, sent.text, len(sent.pdus)) == (WREN, text, len(segments))


def test_wrong_length_is_refused(start):
    """A length that does not fit the PDU is +CMS ERROR 304 and nothing leaves."""
    modem, line = start()
    ((pdu, length),) = submit(WREN, "low")
    assert line.send(pdu, length + 1) == ["+CMS ERROR: 304"]
    assert modem.network.outgoing == []


def test_escape_drops_the_text(start):
    """ESC at the prompt sends nothing and the modem takes commands again."""
    modem, line = start()
    line.prompt("AT+CMGS=20")
    line.port.write(b"0011\x1b")
    assert line.until_final() == ["OK"]
    assert line.ask("AT") == ["OK"]
    assert modem.network.outgoing == []


@pytest.mark.parametrize(
    ("policy", "answer", "left"),
    [
        (Policy(refuse=21), ["+CMS ERROR: 21"], 0),
        (Policy(refuse_cme=30), ["+CME ERROR: 30"], 0),
        (Policy(lose=True), ["+CMGS: 1", "OK"], 1),
    ],
)
def test_policy_of_a_number(start, policy, answer, left):
    """The network answers as it was told to for that number."""
    modem, line = start()
    modem.network.policy(WREN, policy)
    assert line.send(*submit(WREN, "low")[0]) == answer
    assert len(modem.network.outgoing) == left
    assert [sent.arrived for sent in modem.network.outgoing] == [False] * left
