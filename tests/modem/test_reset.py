"""A silent reset brings back text mode, in which the length before a PDU is a number and the PDU its words."""

from pathlib import Path

import pytest

from gateway.ports import Condition, Listed, ModemLost, ModemReady, SendEnded
from gateway.simulator import Faults, Habits
from tests.fakes.benches import LineBench
from tests.fakes.test_port_suite import WREN, job, open_real


@pytest.fixture
def bench(request: pytest.FixtureRequest, tmp_path: Path):
    """The real dialogue on the simulated modem, ready and at rest; `param`: what it says when it starts."""
    made = LineBench(str(tmp_path / "modem"), Habits(boot_line=getattr(request, "param", "")), Faults(), open_real)
    try:
        made.start()
        made.until(ModemReady)
        made.until(Condition)
        yield made
    finally:
        made.close()


def test_no_message_goes_to_its_own_length(bench):
    """The message is not sent, and said to be; the modem is initialised again, and the next one arrives."""
    bench.simulated.reset()
    bench.modem.send(job(1))
    assert (bench.until(SendEnded).outcome, bench.simulated.network.outgoing) == ("not-sent", [])
    bench.until(ModemReady)
    bench.modem.send(job(2))
    assert bench.until(SendEnded).outcome == "sent"
    assert {sent.number for sent in bench.simulated.network.outgoing} == {WREN}


@pytest.mark.parametrize("bench", ["RDY"], indirect=True)
def test_a_reset_in_the_middle_leaves_no_message_without_its_answer(bench):
    """The modem says that it started while a message's result is awaited: its fate is unsure, and said at once."""
    bench.lose_next_answer()
    bench.modem.send(job(1))
    bench.arrived(1)
    bench.simulated.reset()
    assert bench.until(SendEnded).outcome == "unsure"
    bench.until(ModemReady)


def test_a_modem_that_stays_in_text_mode_is_lost(tmp_path: Path):
    """It says OK to PDU mode and lists in text mode, for ever: that is told once, not tried without a pause for ever."""
    made = LineBench(str(tmp_path / "modem"), Habits(), Faults(only_text_mode=True), open_real)
    made.deliver(WREN, "LINE 1 MADE")
    try:
        made.start()
        assert "text mode" in made.until(ModemLost).why
        made.simulated.faults.only_text_mode = False
        made.until(ModemReady)
        assert made.until(Listed).held
    finally:
        made.close()
