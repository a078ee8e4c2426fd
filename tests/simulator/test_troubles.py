"""The simulated modem's SIM, stores and network have the troubles that real ones have."""

import pytest
from gsmmodem.pdu import encodeSmsSubmitPdu

from gateway.simulator import Faults, Habits, Policy

RIDGE, WREN = "+61491570006", "+61491570156"


def one_submit(text: str = "Header tank is low") -> tuple[str, int]:
    pdu = encodeSmsSubmitPdu(WREN, text, reference=7, requestStatusReport=True)[0]
    return str(pdu), pdu.tpduLength


def test_waking_modem_is_not_ready_at_first(start):
    """For a while everything but the basics is +CME ERROR: 14; texts come once it is awake."""
    modem, line = start(habits=Habits(wake_seconds=3600), bare=True)
    modem.network.deliver(RIDGE, "LINE 1 MADE")
    for command in ("ATE0", "AT+CMEE=1"):
        assert line.ask(command)[-1] == "OK"
    assert line.ask("AT+CPIN?") == ["+CME ERROR: 14"]
    assert modem.slots == {}
    modem.wake()
    assert line.ask("AT+CPIN?") == ["+CPIN: READY", "OK"]
    assert len(modem.slots) == 1


@pytest.mark.parametrize(
    ("trouble", "command", "answer"),
    [
        (lambda modem: modem.sim.remove(), "AT+CPIN?", "+CME ERROR: 10"),
        (lambda modem: modem.sim.remove(), "AT+CMGL=4", "+CMS ERROR: 310"),
        (lambda modem: modem.sim.want_pin("4711"), "AT+CPIN?", "+CPIN: SIM PIN"),
        (lambda modem: modem.sim.want_pin("4711"), "AT+CMGL=4", "+CMS ERROR: 311"),
        (lambda modem: modem.sim.want_pin("4711", 0), "AT+CPIN?", "+CPIN: SIM PUK"),
        (lambda modem: setattr(modem.faults, "busy", 14), "AT+CPIN?", "+CME ERROR: 14"),
        (lambda modem: setattr(modem.faults, "busy", 515), "AT+CMGS=20", "+CMS ERROR: 515"),
        (lambda modem: setattr(modem.faults, "list_error", 500), "AT+CMGL=4", "+CMS ERROR: 500"),
        (lambda modem: setattr(modem.faults, "delete_error", 500), "AT+CMGD=1", "+CMS ERROR: 500"),
    ],
)
def test_trouble_is_answered_with_its_code(start, trouble, command, answer):
    """The SIM's and the store's troubles have the codes of the standards."""
    modem, line = start()
    trouble(modem)
    assert line.ask(command)[0] == answer


def test_pin_tries_are_counted_down_to_the_puk(start):
    """Three wrong PINs want the PUK; each try is on record."""
    modem, line = start()
    modem.sim.want_pin("4711")
    assert [line.ask("AT+CPIN=1111") for _ in range(3)] == [["+CME ERROR: 16"], ["+CME ERROR: 16"], ["+CME ERROR: 12"]]
    assert line.ask("AT+CPIN?")[0] == "+CPIN: SIM PUK"
    assert modem.pin_tries == 3


def test_right_pin_opens_the_sim(start):
    """Texts that waited for the PIN come after it."""
    modem, line = start()
    modem.sim.want_pin("4711")
    modem.network.deliver(RIDGE, "LINE 1 MADE")
    assert modem.slots == {}
    assert line.ask('AT+CPIN="4711"') == ["OK"]
    line.ask("AT")
    assert len(modem.slots) == 1


def test_full_store_keeps_texts_in_the_network(start):
    """A text without room waits, and comes once a slot is free."""
    modem, line = start(habits=Habits(capacity={"SM": 2, "ME": 2}))
    assert modem.fill("SM") == 2
    modem.network.deliver(RIDGE, "LINE 1 MADE")
    assert len(modem.network.waiting) == 1
    line.ask("AT+CMGD=1")
    line.ask("AT")
    assert modem.network.waiting == []
    assert len(modem.slots) == 2


@pytest.mark.parametrize(("reports", "asked", "said"), [("CDS", 1, "+CDS: "), ("CDSI", 2, '+CDSI: "SM",1')])
@pytest.mark.parametrize("zero", [False, True])
def test_reports_come_as_the_modem_can(start, reports, asked, said, zero):
    """+CDS with the PDU or +CDSI with a slot; the discharge time may be zeros; the other way is refused."""
    modem, line = start(habits=Habits(reports=reports), faults=Faults(zero_discharge=zero))
    assert line.ask(f"AT+CNMI=2,1,0,{3 - asked},0") == ["+CMS ERROR: 303"]
    assert line.ask(f"AT+CNMI=2,1,0,{asked},0") == ["OK"]
    line.send(*one_submit())
    assert line.read_line().startswith(said)
    pdu = line.read_line() if reports == "CDS" else modem.slots["SM", 1]
    assert ("0" * 14 in pdu) == zero


def test_unknown_habits_are_refused(start):
    """A modem may know neither +CLAC nor +CNMI."""
    _, line = start(habits=Habits(knows_clac=False, grants_cnmi=False))
    assert line.ask("AT+CLAC") == ["ERROR"]
    assert line.ask("AT+CNMI=2,1") == ["+CMS ERROR: 303"]


def test_absent_network_holds_and_refuses(start):
    """Nothing comes and nothing goes until it is back."""
    modem, line = start()
    modem.network.registered = 2
    modem.network.deliver(RIDGE, "LINE 1 MADE")
    assert line.ask("AT+CREG?")[0] == "+CREG: 0,2"
    assert line.send(*one_submit()) == ["+CMS ERROR: 331"]
    assert modem.slots == {}
    modem.network.registered = 5
    assert len(modem.slots) == 1


def test_policy_holds_once(start):
    """A policy for a number of segments ends by itself."""
    modem, line = start()
    modem.network.policy(WREN, Policy(refuse=38), times=1)
    assert line.send(*one_submit()) == ["+CMS ERROR: 38"]
    assert line.send(*one_submit()) == ["+CMGS: 1", "OK"]


def test_parts_in_any_order(start):
    """Parts come as told: shuffled, doubled, missing; wide references too."""
    modem, _ = start()
    whole = modem.network.deliver(RIDGE, "x" * 400, reference=300, wide_reference=True)
    odd = modem.network.deliver(RIDGE, "x" * 400, reference=300, wide_reference=True, parts_order=[3, 1, 1], repeat=1)
    assert len(whole) == 3
    assert [pdu[-40:] for pdu in odd] == [whole[place][-40:] for place in (2, 0, 0, 2, 0, 0)]


def test_balance_is_answered_later(start):
    """+CUSD is OK at once; the network's words are a line of their own."""
    _, line = start()
    assert line.ask('AT+CUSD=1,"*100#",15') == ["OK"]
    assert line.read_line() == '+CUSD: 0,"Credit 12.40 AUD",15'
