"""How often a modem is asked: what it says of itself once a minute, not between all else that there is to do."""

from datetime import UTC, datetime
from pathlib import Path

from gateway.clock import SystemClock
from gateway.modem import open_modem
from gateway.modem.trace import Trace
from gateway.ports import ModemReady, SendEnded
from gateway.settings.models import ModemTable
from gateway.simulator import Faults, Habits
from tests.fakes.benches import LineBench
from tests.fakes.test_port_suite import job

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def test_the_signal_is_not_asked_for_between_messages(tmp_path: Path):
    """Five messages leave within the minute: it was read when the modem was ready, and once more at the most."""
    trace = Trace(tmp_path / "trace", lambda: NOON)
    bench = LineBench(
        str(tmp_path / "modem"),
        Habits(),
        Faults(),
        lambda device: open_modem(ModemTable(device=device, sweep_every="1h"), None, SystemClock(), trace=trace),
    )
    try:
        bench.start()
        bench.until(ModemReady)
        for number in range(5):
            bench.modem.send(job(number))
            assert bench.until(SendEnded).outcome == "sent"
    finally:
        bench.close()
    assert 1 <= (tmp_path / "trace").read_text().count("AT+CSQ") <= 2
