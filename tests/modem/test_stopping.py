"""What waited for the modem when the gateway stops is answered, so that it can be put down as not sent."""

from pathlib import Path

from gateway.ports import ModemLost, ModemReady, SendEnded
from gateway.simulator import Faults, Habits
from tests.fakes.benches import LineBench
from tests.fakes.test_port_suite import job, open_real


def test_messages_that_waited_for_a_lost_modem_were_not_sent(tmp_path: Path):
    """Each is answered once, in order."""
    bench = LineBench(str(tmp_path / "modem"), Habits(), Faults(), open_real)
    try:
        bench.start()
        bench.until(ModemReady)
        bench.unplug()
        bench.until(ModemLost)
        bench.modem.send(job(1))
        bench.modem.send(job(2))
        assert bench.modem.stop(5.0)
        ended = [bench.until(SendEnded, patience_s=1.0) for _ in range(2)]
        assert [(end.job, end.outcome) for end in ended] == [(1, "not-sent"), (2, "not-sent")]
    finally:
        bench.close()
