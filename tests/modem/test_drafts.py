"""What stands on the SIM and came from nobody: drafts and sent messages are not told, not stored, and stay where they are."""

from pathlib import Path

import pytest

from gateway.facts import HeldPdu
from gateway.modem.pdu import decode, encode_submit
from gateway.ports import Condition, Listed, ModemReady, SendEnded, SlotFreed
from gateway.simulator import Faults, Habits
from gateway.simulator.pdus import deliver_pdus
from tests.fakes.benches import LineBench
from tests.fakes.fake_modem import NETWORK_TIME
from tests.fakes.test_port_suite import RIDGE, WREN, job, open_real, texts

DRAFT, SENT = 2, 3
OWN = encode_submit(WREN, "Back on Sunday", 1, False)[0].pdu
CAME = deliver_pdus(RIDGE, "LINE 1 MADE", NETWORK_TIME)[0]


@pytest.fixture
def bench(tmp_path: Path):
    """The real dialogue on a SIM of six places."""
    made = LineBench(str(tmp_path / "modem"), Habits(memories=("SM",), capacity={"SM": 6}), Faults(), open_real)
    try:
        yield made
    finally:
        made.close()


def test_only_what_came_is_told_and_freed(bench):
    """Read and unread texts are taken, and drafts and sent messages left as they are."""
    own = {("SM", bench.simulated.put("SM", OWN, stat=stat)): OWN for stat in (DRAFT, SENT)}
    bench.simulated.put("SM", CAME, stat=1)
    bench.deliver(RIDGE, "LINE 2 MADE")
    bench.start()
    bench.until(ModemReady)
    listed = bench.until(Listed)
    assert sorted(texts(listed)) == ["LINE 1 MADE", "LINE 2 MADE"] and listed.complete
    bench.modem.free(listed.held)
    assert [bench.until(SlotFreed).done for _ in listed.held] == [True, True]
    assert bench.slots() == own


@pytest.mark.parametrize("stat", [DRAFT, SENT])
def test_a_place_that_holds_a_draft_by_now_is_not_freed(bench, stat):
    """Be it the very same octets: it is somebody's own."""
    slot = bench.simulated.put("SM", CAME, stat=stat)
    bench.start()
    bench.until(ModemReady)
    assert bench.until(Listed).held == ()
    bench.modem.free([HeldPdu(memory="SM", slot=slot, pdu=CAME, content=decode(CAME))])
    assert bench.until(SlotFreed).done
    assert bench.slots() == {("SM", slot): CAME}


def test_drafts_take_room(bench):
    """Five drafts and a text fill six places: the text's is freed before anything is sent."""
    for _ in range(5):
        bench.simulated.put("SM", OWN, stat=DRAFT)
    bench.start()
    bench.until(ModemReady)
    bench.until(Condition)
    bench.deliver(RIDGE, "LINE 1 MADE")
    listed = bench.until(Listed, lambda news: bool(news.held))
    bench.modem.send(job(1))
    bench.modem.free(listed.held)
    first = bench.until((SlotFreed, SendEnded))
    assert isinstance(first, SlotFreed)
