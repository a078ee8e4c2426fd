"""Which port answers AT: a modem does; a port that is silent, and one that is not there, do not."""

import errno
import os
import termios

import pytest

from gateway.errors import ModemGone
from gateway.modem import probe
from gateway.modem.link import Link
from gateway.simulator import Faults, Habits, SimulatedModem


def test_which_port_answers(tmp_path, monkeypatch):
    """And the port is free again afterwards."""
    simulated = SimulatedModem(str(tmp_path / "modem"), habits=Habits(), faults=Faults())
    simulated.start()
    try:
        assert [probe.answers_at(simulated.device, 115200) for _ in range(2)] == [True, True]
    finally:
        simulated.stop()
    monkeypatch.setattr(probe, "ANSWER_WITHIN_S", 0.05)
    master, slave = os.openpty()
    try:
        assert not probe.answers_at(os.ttyname(slave), 115200)
    finally:
        os.close(master)
        os.close(slave)
    assert not probe.answers_at(str(tmp_path / "none"), 115200)


def test_a_modem_that_goes_away_while_it_is_opened_is_gone(monkeypatch):
    """The system's refusal to set the line is no OSError (termios.error): it came through, and the modem's thread was dead from then on."""

    def away(*arguments):
        raise termios.error(errno.EIO, "Input/output error")

    with SimulatedModem() as modem:
        monkeypatch.setattr(termios, "tcsetattr", away)
        with pytest.raises(ModemGone, match="there is no modem"):
            Link(modem.device, 115200, 0)
