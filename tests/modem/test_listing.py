"""What a listing is held against before it is believed."""

from pathlib import Path

from gateway.facts import Delivered
from gateway.modem.answers import held_in
from gateway.ports import Listed, ModemReady
from gateway.simulator import Faults, Habits
from gateway.simulator.pdus import deliver_pdus, tpdu_octets
from tests.fakes.benches import LineBench
from tests.fakes.fake_modem import NETWORK_TIME
from tests.fakes.test_port_suite import open_real

RIDGE = "+61491570006"
PDU = deliver_pdus(RIDGE, "ZONE 1 OPEN", NETWORK_TIME)[0]
HURT = PDU[:-2]


def lines(pdu: str, length: int) -> list[str]:
    return [f"+CMGL: 3,0,,{length}", pdu]


def test_length_fits():
    """A PDU as long as the modem says is held."""
    held, doubted = held_in("SM", lines(PDU, tpdu_octets(PDU)), doubted=())
    assert ([one.pdu for one in held], doubted) == ([PDU], set())


def test_hurt_is_doubted():
    """One octet short of what the modem says: neither held nor lost, but doubted."""
    assert held_in("SM", lines(HURT, tpdu_octets(PDU)), doubted=()) == ([], {HURT})


def test_said_again_is_believed():
    """A modem that counts in its own way says the same twice."""
    held, doubted = held_in("SM", lines(PDU, 7), doubted={PDU})
    assert ([one.pdu for one in held], doubted) == ([PDU], set())


def test_doubt_is_not_complete(tmp_path: Path):
    """While a text in a slot is doubted the first listing is not complete, so no verdict is built on it; it is looked at again soon."""
    bench = LineBench(str(tmp_path / "modem"), Habits(), Faults(hurt_pdus=1), open_real)
    bench.deliver(RIDGE, "ZONE 1 OPEN")
    try:
        bench.start()
        bench.until(ModemReady)
        first = bench.until(Listed)
        assert (first.held, first.complete) == ((), False)
        second = bench.until(Listed)
        assert second.complete and isinstance(second.held[0].content, Delivered)
    finally:
        bench.close()
