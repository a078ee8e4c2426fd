"""Short codes and the network's answers, as makes of modems show them; a question delays no message."""

import threading

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.clock import SystemClock
from gateway.gsm.alphabet import pack_septets, to_septets
from gateway.modem import Times, open_modem
from gateway.modem.lines import Lines
from gateway.modem.ussd import answer_in, decoded
from gateway.ports import ModemReady, NetworkSaid, SendEnded, SendJob
from gateway.settings.models import ModemTable
from gateway.simulator import Faults, Habits, SimulatedModem
from tests.fakes.benches import Bench


@pytest.mark.parametrize(
    ("line", "text", "is_menu"),
    [
        ('+CUSD: 0,"Credit 12.40 AUD",15', "Credit 12.40 AUD", False),
        ('+CUSD: 1,"1 Credit\n2 Offers",15', "1 Credit\n2 Offers", True),
        ('+CUSD: 0,"00430072006500640069007400200033002C0032003000A020AC",72', "Credit 3,20\u00a0€", False),
        ('+CUSD: 0,"C3B27C9C76D37EA3",15', "C3B27C9C76D37EA3", False),
        ('+CUSD: 2,"Bye"', "Bye", False),
        ("+CUSD: 4", None, False),
        ("+CUSD: 2", None, False),
        ("+CUSD: what", None, False),
    ],
)
def test_an_answer_is_read(line, text, is_menu):
    """Quoted text, UCS2 in hexadecimal (dcs 72), a menu, an end without a word, and what is no answer at all."""
    read, why, waits_for_more = answer_in(line)
    assert (read, waits_for_more) == (text, is_menu) and (read is not None or why)


@given(
    st.text(st.sampled_from("ABCabc 0123456789.,:-/"), min_size=8, max_size=80).filter(
        lambda text: any(map(str.isalpha, text))
    )
)
def test_both_hexadecimal_forms_come_back(text):
    """A sentence survives as UCS2 and as packed septets, however the modem hands it over."""
    text = text.strip()
    if len(text) < 8 or not any(map(str.isalpha, text)):
        return
    assert decoded(text.encode("utf-16-be").hex().upper(), 72) == text
    assert decoded(pack_septets(to_septets(text)).hex().upper(), 15) == text


@given(st.text(max_size=60), st.integers(0, 255))
def test_no_answer_raises(said, dcs):
    """Whatever stands between the quotes."""
    decoded(said, dcs)
    answer_in(f'+CUSD: 0,"{said}",{dcs}')


@pytest.mark.parametrize(
    ("lines", "whole"),
    [
        (['+CUSD: 0,"Credit', '3.20",15', "OK"], ['+CUSD: 0,"Credit\n3.20",15', "OK"]),
        (['+CUSD: 0,"one line",15'], ['+CUSD: 0,"one line",15']),
        (['+CUSD: 0,"never closed', "OK"], ['+CUSD: 0,"never closed', "OK"]),
        (['+CUSD: 0,"never closed', '+CMTI: "SM",3'], ['+CUSD: 0,"never closed', '+CMTI: "SM",3']),
        (['+CMGL: 1,"REC', "x"], ['+CMGL: 1,"REC', "x"]),
    ],
)
def test_an_answer_of_several_lines_is_one(lines, whole):
    """Joined at its closing quote; one that is never closed swallows nothing."""
    made = Lines()
    made.feed("".join(f"\r\n{line}\r\n" for line in lines).encode())
    assert [made.pop() for _ in range(len(whole))] == whole and not made


@pytest.fixture
def simulated(tmp_path):
    """A modem, and the real dialogue on it."""
    with SimulatedModem(str(tmp_path / "modem"), habits=Habits(own_every_s=0.05), faults=Faults(strewn=0.3)) as modem:
        times = Times(ussd_s=0.3)
        table = ModemTable(device=modem.device, sweep_every="1h")
        bench = Bench(open_modem(table, None, SystemClock(), times=times))
        bench.start()
        bench.until(ModemReady)
        yield modem, bench
        bench.close()


@pytest.mark.parametrize("said", ["Credit 12.40 AUD", "Guthaben 3,20 €\nbis 1.7.", "Баланс 40 грн"])
def test_the_network_answers(simulated, said):
    """In either alphabet, over several lines, while the modem talks by itself."""
    modem, bench = simulated
    modem.network.ussd["*100#"] = said
    bench.modem.ask_network("*100#")
    assert bench.until(NetworkSaid) == NetworkSaid(code="*100#", said=said)
    assert 'AT+CUSD=1,"*100#",15' in modem.commands


def test_no_answer_is_said_and_delays_no_message(simulated):
    """The message leaves while the question is open; then the question is given up, and the next one is asked."""
    modem, bench = simulated
    modem.network.ussd["*100#"] = None
    bench.modem.ask_network("*100#")
    bench.modem.send(SendJob(id=1, number="+61491570156", text="hello", reference=0))
    assert bench.until(SendEnded).outcome == "sent"
    assert "no answer within" in bench.until(NetworkSaid).why
    modem.network.ussd["*101#"] = "Credit 1"
    bench.modem.ask_network("*101#")
    assert bench.until(NetworkSaid).said == "Credit 1"
    assert "AT+CUSD=2" in modem.commands


@pytest.mark.parametrize(("code", "why"), [("*999#", "does not know"), ('1",15;+CFUN=0', "no code")])
def test_a_code_that_leads_nowhere_is_said(simulated, code, why):
    """An unknown code, and one that would be a command of its own: never sent."""
    modem, bench = simulated
    bench.modem.ask_network(code)
    said = bench.until(NetworkSaid)
    assert said.said is None and why in said.why
    assert not any("CFUN=0" in command for command in modem.commands)


def test_a_modem_that_goes_away_is_an_answer(simulated):
    """Whoever asked is told; nothing waits for ever."""
    modem, bench = simulated
    modem.network.ussd["*100#"] = None
    bench.modem.ask_network("*100#")
    wait = threading.Event()
    for _ in range(500):
        if any("CUSD" in command for command in modem.commands):
            break
        wait.wait(0.01)
    modem.unplug()
    assert bench.until(NetworkSaid).said is None
