"""From an open line to a modem at work: what is asked of it, in which order, and what it may refuse."""

from pathlib import Path

import pytest

from gateway.clock import SystemClock
from gateway.modem import Times, open_modem
from gateway.ports import ModemReady
from gateway.settings.models import ModemTable
from gateway.simulator import Faults, Habits
from tests.fakes.benches import LineBench


def ready_on(folder: Path, habits: Habits, *, delivery_reports: bool = True, number: str = ""):
    """What the modem says of itself when it is ready, and the commands that it got until then. `number`: what the SIM holds as its own."""

    def opened(device: str):
        table = ModemTable(device=device, sweep_every="1h", delivery_reports=delivery_reports)
        return open_modem(table, None, SystemClock(), times=Times(settle_s=0.05))

    bench = LineBench(str(folder / "modem"), habits, Faults(), opened)
    bench.simulated.sim.number = number
    try:
        bench.start()
        ready = bench.until(ModemReady)
        return ready, bench.simulated.commands
    finally:
        bench.close()


@pytest.mark.parametrize(
    ("reports", "wanted", "granted"),
    [
        ("CDSI", True, "AT+CNMI=2,1,0,2,0"),
        ("CDS", True, "AT+CNMI=2,1,0,1,0"),
        ("none", True, "AT+CNMI=2,1,0,0,0"),
        ("CDSI", False, "AT+CNMI=2,1,0,0,0"),
    ],
)
def test_the_best_announcements_that_are_granted(tmp_path, reports, wanted, granted):
    """Stored reports before told ones, told ones before none; none where none are wanted."""
    ready, commands = ready_on(tmp_path, Habits(reports=reports), delivery_reports=wanted)
    assert [command for command in commands if command.startswith("AT+CNMI=")][-1] == granted
    refused = ("delivery reports were refused: a message that left is never known to have arrived",)
    assert ready.announces and ready.notes == (refused if wanted and reports == "none" else ())


@pytest.mark.parametrize("reports", [True, False])
def test_where_none_are_granted_the_sweep_finds_texts(tmp_path, reports):
    """Every form is tried, and that none was granted is noted."""
    ready, commands = ready_on(tmp_path, Habits(grants_cnmi=False), delivery_reports=reports)
    assert not ready.announces and ready.notes == ("+CNMI was refused: the sweep alone finds texts",)
    assert len([command for command in commands if command.startswith("AT+CNMI=")]) == (14 if reports else 6)


def test_the_mode_is_set_before_anything_is_listed(tmp_path):
    """No echo, errors as numbers, the SIM, PDU mode, and no acknowledgements wanted: in this order."""
    ready, commands = ready_on(tmp_path, Habits(memories=("SM",)))
    order = [commands.index(command) for command in ("ATE0", "AT+CMEE=1", "AT+CPIN?", "AT+CMGF=0", "AT+CSMS=0")]
    assert order == sorted(order)
    assert (ready.model, ready.memories) == ("QR-21", ("SM",))


@pytest.mark.parametrize(
    ("held", "said"), [("+61491570110", "+61491570110"), ("0491570110", "0491570110"), ("", None), ("n/a", None)]
)
def test_the_sim_s_own_number_is_asked_once(tmp_path, held, said):
    """As it is written there; most SIMs hold none, and what is no number is none."""
    ready, commands = ready_on(tmp_path, Habits(), number=held)
    assert ready.number == said and commands.count("AT+CNUM") == 1
