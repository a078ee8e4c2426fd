"""Which port answers AT: a modem does; a port that is silent, and one that is not there, do not."""

import os

from gateway.modem import probe
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
