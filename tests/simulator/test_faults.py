"""Each fault of the simulated modem does what it says, and ends when it is switched off."""

import random
import threading
from pathlib import Path

import pytest
import serial
from gsmmodem.pdu import encodeSmsSubmitPdu

from gateway.simulator import Faults, Habits, SimulatedModem
from tests.simulator.line import Line

RIDGE, WREN = "+61491570006", "+61491570156"


def one_submit(text: str = "Header tank is low") -> tuple[str, int]:
    pdu = encodeSmsSubmitPdu(WREN, text, reference=7, requestStatusReport=True)[0]
    return str(pdu), pdu.tpduLength


@pytest.mark.parametrize(
    ("faults", "lines"),
    [
        (Faults(strewn=1.0), ["^RSSI", "^RSSI"]),
        (Faults(byte_at_a_time=True), []),
    ],
)
def test_answer_is_whole_among_strewn_lines(start, faults, lines):
    """Unsolicited lines stand before every line of the answer; slow bytes change nothing in it."""
    _, line = start(habits=Habits(own_lines=("^RSSI",)), faults=faults)
    answer = line.ask("AT+CSQ")
    assert sorted(answer) == sorted(["+CSQ: 17,99", "OK", *lines])
    assert answer[-1] == "OK"


@pytest.mark.parametrize(("rate", "field"), [(0.5, "loss_out"), (0.5, "loss_in"), (1.0, "noise")])
def test_bytes_are_lost_or_added_by_seed(rate, field):
    """The same seed harms the same bytes; switched off, the line is clean again."""
    seen = []
    for _ in range(2):
        with (
            SimulatedModem(habits=Habits(echo=False), seed=5) as modem,
            serial.Serial(modem.device, timeout=0.2) as port,
        ):
            setattr(modem.faults, field, rate)
            port.write(b"AT+CSQ\r" * 3)
            seen.append(port.read(200))
            setattr(modem.faults, field, 0.0)
            port.write(b"\rAT\r")
            assert port.read_until(b"OK\r\n").endswith(b"\r\nOK\r\n")
    assert seen[0] == seen[1] != b"\r\n+CSQ: 17,99\r\n\r\nOK\r\n" * 3


@pytest.mark.parametrize("rate", [0.0, 1.0])
def test_announcement_can_be_lost(start, rate):
    """The text is in its slot whether or not it was announced."""
    modem, line = start(faults=Faults(lost_announcements=rate))
    line.ask("AT+CNMI=2,1,0,1,0")
    modem.network.deliver(RIDGE, "LINE 1 MADE")
    modem.say("+MARK")
    assert line.read_line() == ("+MARK" if rate else '+CMTI: "SM",1')
    assert len(modem.slots) == 1


def test_several_announcements_in_one_write(start):
    """What is delivered at once is announced in one go."""
    modem, line = start()
    line.ask("AT+CNMI=2,1,0,1,0")
    with modem.at_once():
        for number in range(3):
            modem.network.deliver(RIDGE, f"LINE {number} MADE")
    assert [line.read_line() for _ in range(3)] == [f'+CMTI: "SM",{slot}' for slot in (1, 2, 3)]


def test_answer_is_lost_after_the_text_was_taken(start):
    """The person has it, the gateway never hears; the next send is answered."""
    modem, line = start(faults=Faults(lost_answers=1))
    pdu, length = one_submit()
    line.prompt(f"AT+CMGS={length}")
    line.port.write(pdu.encode() + b"\x1a")
    modem.network.wait_for_outgoing(1)
    assert line.send(pdu, length) == ["+CMGS: 2", "OK"]
    assert len(modem.network.outgoing) == 2


def test_no_prompt_leaves_it_waiting_for_text(start):
    """Without a prompt commands are swallowed as text until ESC."""
    modem, line = start(faults=Faults(prompt="none"))
    line.port.write(b"AT+CMGS=20\rAT\rAT\r\x1b")
    assert line.until_final() == ["OK"]
    assert modem.commands[-1] == "AT+CMGS=20"
    assert line.ask("AT") == ["OK"]


def test_late_prompt_comes(start):
    """The prompt comes late, and the text is taken all the same."""
    _, line = start(faults=Faults(prompt="late", prompt_delay_s=0.05))
    assert line.send(*one_submit()) == ["+CMGS: 1", "OK"]


@pytest.mark.parametrize("boot_line", ["", "RDY"])
def test_reset_brings_echo_and_text_mode_back(start, boot_line):
    """Nothing that was set is left after a silent reset."""
    modem, line = start(habits=Habits(boot_line=boot_line))
    line.ask("AT+CNMI=2,1,0,1,0")
    modem.reset()
    if boot_line:
        assert line.read_line() == boot_line
    assert line.ask("AT+CMGF?") == ["AT+CMGF?", "+CMGF: 1", "OK"]
    assert line.ask("AT+CNMI?") == ["AT+CNMI?", "+CNMI: 0,0,0,0,0", "OK"]


def test_listing_after_a_reset_is_in_text_mode(start):
    """A gateway that does not notice the reset gets lines that look like another listing."""
    modem, line = start()
    modem.network.deliver(RIDGE, "LINE 1 MADE")
    line.ask("AT+CMGF=1")
    assert line.ask("AT+CMGL=4")[0] == '+CMGL: 1,"REC UNREAD","",,'


@pytest.mark.parametrize(
    ("fault", "command"), [("replace_after_list", "AT+CMGL=4"), ("replace_after_read", "AT+CMGR=1")]
)
def test_slot_is_reused_behind_the_gateways_back(start, fault, command):
    """What was shown is gone; another text holds the slot."""
    modem, line = start()
    modem.network.deliver(RIDGE, "first")
    setattr(modem.faults, fault, "00AA")
    assert modem.slots[("SM", 1)] == line.ask(command)[1]
    assert modem.slots == {("SM", 1): "00AA"}


def test_mute_until_reset(start):
    """It answers nothing until it is started afresh; each command is on record."""
    modem, line = start(habits=Habits(boot_line="RDY"), faults=Faults(mute_until_reset=True), bare=True)
    line.port.write(b"AT\rAT+CFUN=1,1\r")
    assert line.read_line() == "RDY"
    assert line.ask("AT")[-1] == "OK"
    assert modem.commands == ["AT", "AT+CFUN=1,1", "AT"]


def test_unplugged_and_plugged_under_the_same_link(tmp_path):
    """The line hangs up, the link is gone; then it leads to a new pseudo-terminal and waiting texts are there."""
    link = tmp_path / "modem"
    with SimulatedModem(str(link)) as modem:
        line = Line(modem.device)
        before = link.readlink()
        modem.unplug()
        with pytest.raises(serial.SerialException):
            line.port.read()
        assert not link.is_symlink()
        modem.network.deliver(RIDGE, "LINE 1 MADE")
        held = open("/dev/ptmx", "rb", buffering=0)  # noqa: SIM115, PTH123 - takes the free number, so that the next differs
        modem.plug()
        assert link.readlink() != before
        line.port.close()
        again = Line(modem.device)
        again.initialise()
        assert again.ask("AT+CMGL=4")[0].startswith("+CMGL: 1,0,,")
        again.port.close()
        held.close()


def test_held_port_is_refused(start):
    """A second opening fails where the first was exclusive."""
    modem, _ = start()
    with pytest.raises(serial.SerialException):
        Line(modem.device)


def test_nothing_is_left_behind(nothing_left, tmp_path):
    """Start, use, unplug, stop: no thread, no file descriptor, no link stays."""
    for _ in range(5):
        with SimulatedModem(str(tmp_path / "modem"), habits=Habits(own_every_s=0.01)) as modem:
            line = Line(modem.device)
            line.ask("AT")
            modem.unplug()
            modem.plug()
            line.port.close()
    assert list(tmp_path.iterdir()) == []


def test_long_listing_is_whole(start):
    """Three hundred waiting texts are listed in one answer with nothing missing."""
    modem, line = start(habits=Habits(capacity={"SM": 300, "ME": 10}))
    modem.fill("SM")
    listed = line.ask("AT+CMGL=4")
    assert [pdu for pdu in listed if not pdu.startswith("+CMGL")][:-1] == list(modem.slots.values())
    assert len(modem.slots) == 300


@pytest.mark.parametrize("seed", range(5))
def test_no_bytes_end_it(start, seed):
    """Whatever is written to it, after ESC and a return it answers again."""
    _, line = start()
    chance = random.Random(seed)
    words = [b"AT+CMGS=20\r", b"AT+CMGD=1,4\r", b"AT+CPMS=\r", b'AT+CNMI="x",\r', b"AT+CMGL\r", b"AT&\r", b"\x1a"]
    for _ in range(200):
        line.port.write(chance.choice([chance.randbytes(chance.randint(1, 40)), *words]))
        line.port.reset_input_buffer()
    line.port.write(b"\x1b\r")
    line.port.write(b"AT+CGMM\r")
    assert line.port.read_until(b"QR-21\r\n").endswith(b"QR-21\r\n")


def test_at_rest_nothing_runs():
    """Without news the thread is never woken: a poll of any kind would be seen in the count of its waits."""
    with SimulatedModem() as modem, serial.Serial(modem.device, timeout=1) as port:
        port.write(b"ATE0\r")
        port.read_until(b"OK\r\n")
        before = waits_of("simulated-modem")
        threading.Event().wait(0.3)
        assert waits_of("simulated-modem") - before <= 1


def waits_of(name: str) -> int:
    """How often the thread of that name went to sleep (proc(5), voluntary_ctxt_switches)."""
    (thread,) = (thread for thread in threading.enumerate() if thread.name == name)
    status = Path(f"/proc/self/task/{thread.native_id}/status").read_text()
    return int(status.split("voluntary_ctxt_switches:")[1].split()[0])
