"""Every make of modem: texts that waited and texts that come are told once and freed, messages leave, and there is a network."""

from pathlib import Path

import pytest

from gateway.clock import SystemClock
from gateway.facts import Report
from gateway.modem import Times, open_modem
from gateway.modem.pdu import decode
from gateway.ports import Condition, Listed, ModemReady, SendEnded, SlotFreed
from gateway.settings.models import ModemTable
from gateway.simulator import Faults, Habits
from gateway.simulator.makes import MAKES
from tests.fakes.benches import LineBench
from tests.fakes.test_port_suite import RIDGE, WREN, job, texts

QUICK = Times(settle_s=0.05, result_s=10.0)


def bench_of(folder: Path, habits: Habits) -> LineBench:
    """The real dialogue on that make."""

    def opened(device: str):
        return open_modem(ModemTable(device=device, sweep_every="1h"), None, SystemClock(), times=QUICK)

    return LineBench(str(folder / "modem"), habits, Faults(), opened)


def lives_through(bench: LineBench) -> list[str]:
    """A text that waited, one that comes, a message of two segments, the network; what was told."""
    bench.deliver(RIDGE, "ZONE 1 OPEN")
    bench.start()
    bench.until(ModemReady)
    first = bench.until(Listed, lambda news: bool(news.held))
    told = texts(first)
    assert bench.until(Condition).registered
    bench.modem.free(first.held)
    assert bench.until(SlotFreed).done
    bench.deliver(RIDGE, "ZONE 2 OPEN")
    second = bench.until(Listed, lambda news: bool(texts(news)))
    told += texts(second)
    bench.modem.free(second.held)
    assert bench.until(SlotFreed).done
    bench.modem.send(job(1, text="House tank is low. " * 10))
    ended = bench.until(SendEnded)
    assert (ended.outcome, len(ended.references)) == ("sent", 2)
    bench.arrived(1)
    return told


@pytest.mark.parametrize("make", MAKES)
def test_row_49_a_life_on_every_make(tmp_path, make):
    """Nothing is lost, nothing told twice, nothing left in a slot."""
    bench = bench_of(tmp_path, MAKES[make])
    try:
        assert lives_through(bench) == ["ZONE 1 OPEN", "ZONE 2 OPEN"]
        left = [decode(pdu) for pdu in bench.slots().values()]
        assert (
            all(isinstance(content, Report) for content in left) and bench.simulated.network.outgoing[0].number == WREN
        )
    finally:
        bench.close()


FORMS = {
    "+CREG: 2,6": Habits(answers={"AT+CREG?": ('+CREG: 2,6,"8B37","0A265185",7', "OK")}),
    "+CREG: 002,001": Habits(answers={"AT+CREG?": ('+CREG:002,001,"18d8","ffff"', "OK")}),
    "news before the answer": Habits(answers={"AT+CREG?": ('+CREG: 0,"00C3","00005449"', "+CREG: 0,5", "OK")}),
    "LTE alone": Habits(answers={"AT+CREG?": ("+CREG: 0,0", "OK"), "AT+CEREG?": ("+CEREG: 0,1", "OK")}),
    "+CPIN in quotes": Habits(answers={"AT+CPIN?": ('+CPIN: "READY"', "OK")}),
    "a second PIN": Habits(answers={"AT+CPIN?": ("+CPIN: SIM PIN2", "OK")}),
    "+CPIN without OK": Habits(no_ok=frozenset({"+CPIN"})),
    "+CMGS without OK": Habits(no_ok=frozenset({"+CMGS"})),
    "+CNMI in ranges": Habits(answers={"AT+CNMI=?": ("+CNMI: (0-3),(0,1),(0,2,3),(0,2),(1)", "OK")}, buffers=(1,)),
    "+CNMI mode 1 alone": Habits(modes=(0, 1)),
    "no memories named": Habits(answers={"AT+CPMS=?": ("+CPMS: (),(),()", "OK")}),
    "memories without brackets": Habits(answers={"AT+CPMS=?": ('+CPMS: "ME","MT","SM"', "OK")}),
    "memories in two brackets": Habits(answers={"AT+CPMS=?": ('+CPMS: (("SM","BM","SR"),("SM"))', "OK")}),
    "a memory that takes two seconds": Habits(slow_s={"+CPMS": 0.6}, memories=("SM",)),
    "no model": Habits(answers={"AT+CGMM": ("COMMAND NOT SUPPORT",)}),
    "no echo setting": Habits(answers={"AT+CMEE=1": ("TOO MANY PARAMETERS",)}),
    "prompt and news in one line": Habits(prompt=b'\r\n> +CIEV: "MESSAGE",1\r\n'),
    "news, then the prompt in its line": Habits(prompt=b"\r\n^RSSI: 18> "),
    "a prompt with a doubled return": Habits(prompt=b"\r\r\n> "),
    "a bare prompt": Habits(prompt=b"\r\n>"),
    "news behind the prompt": Habits(prompt=b"\r\n> \r\n+CSQ: 20,99\r\n"),
    "carriage returns alone": Habits(line_style="cr"),
    "line feeds alone": Habits(line_style="lf"),
    "lines between lines": Habits(line_style="spaced"),
    "a PDU in its header's line": Habits(inline_pdu=True),
    "a store that is not ready, in words": Habits(store_after_s=2.0, not_ready="+CMS ERROR: SIM busy"),
    "a store that is not ready, plainly": Habits(store_after_s=2.0, not_ready="ERROR"),
}
"""A form of an answer that some make gives, all else being as usual."""


@pytest.mark.parametrize("form", FORMS)
def test_row_82_a_life_with_every_form(tmp_path, form):
    """What it says otherwise changes nothing of what is told and sent."""
    bench = bench_of(tmp_path, FORMS[form])
    try:
        assert lives_through(bench) == ["ZONE 1 OPEN", "ZONE 2 OPEN"]
    finally:
        bench.close()
