"""One suite over both modems behind the port: what is observed of the fake is what is observed of the real dialogue."""

import queue
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from gateway.clock import SystemClock
from gateway.facts import Delivered, Report
from gateway.gsm.segments import measure_text
from gateway.modem import Times, open_modem
from gateway.ports import Listed, ModemLost, ModemReady, SendEnded, SendJob, SlotFreed
from gateway.settings.models import ModemTable
from gateway.simulator import CALL_RESULTS, Faults, Habits
from gateway.simulator.pdus import deliver_pdus
from tests.fakes.benches import Bench, FakeBench, LineBench
from tests.fakes.fake_modem import NETWORK_TIME

RIDGE, WREN, MALLEE = "+61491570006", "+61491570156", "+61491570157"
REAL = {
    "plain": (Habits(), Faults()),
    "slots from 0, texts in ME, +CDSI": (
        Habits(first_slot=0, new_texts_in="ME", reports="CDSI", knows_clac=False),
        Faults(),
    ),
    "both memories, +CNMI refused": (Habits(new_texts_in="both", grants_cnmi=False, line_style="after"), Faults()),
    "one memory, talks by itself": (Habits(memories=("SM",), own_every_s=0.05, line_style="doubled"), Faults()),
    "echoes whatever it is told": (Habits(always_echoes=True), Faults()),
    "empty quotes in listings, no spaces": (Habits(alpha='""', gaps="none"), Faults()),
    "names in listings, spaces everywhere": (Habits(alpha='"Ridge, box 2"', gaps="all"), Faults()),
    "nothing between status and length": (Habits(alpha=None, reports="CDSI"), Faults()),
    "calls that nobody here made": (Habits(own_lines=CALL_RESULTS), Faults(strewn=0.5)),
    "byte at a time": (Habits(), Faults(byte_at_a_time=True)),
    "lines and noise strewn in": (Habits(), Faults(strewn=0.3, noise=0.2)),
    "announcements lost": (Habits(reports="CDSI"), Faults(lost_announcements=0.99)),
}
"""Makes of modem, and what is wrong with them, on which the real dialogue must show the same."""


def open_real(device: str):
    """As the daemon opens it; no PIN."""
    table = ModemTable(device=device, sweep_every="1h")
    return open_modem(table, None, SystemClock(), times=Times(result_s=0.5))


@pytest.fixture(params=["fake", *REAL])
def bench(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Bench]:
    """A started modem, ready."""
    if request.param == "fake":
        made: Bench = FakeBench()
    else:
        habits, faults = REAL[request.param]
        made = LineBench(str(tmp_path / "modem"), habits, replace(faults), open_real)
    try:
        made.start()
        made.until(ModemReady)
        yield made
    finally:
        made.close()


def texts(listed: Listed) -> list[str]:
    return [held.content.text for held in listed.held if isinstance(held.content, Delivered)]


def swept(bench: Bench, *wanted: str) -> Listed:
    """The listing that completes the wanted texts."""
    seen: set[str] = set()

    def has_all(listed: Listed) -> bool:
        seen.update(texts(listed))
        return seen >= set(wanted)

    for _ in range(9 if bench.is_noisy else 0):
        bench.modem.sweep()
        with suppress(queue.Empty):
            return bench.until(Listed, has_all, patience_s=0.3)
    bench.modem.sweep()
    return bench.until(Listed, has_all)


def job(number: int, to: str = WREN, text: str = "House tank is low since 14:05") -> SendJob:
    return SendJob(id=number, number=to, text=text, reference=40 + number)


def test_delivered_text_is_listed(bench):
    """What lies in a slot is listed with its memory, slot, PDU and content."""
    bench.deliver(RIDGE, "LINE 1 MADE {€}")
    (held,) = swept(bench, "LINE 1 MADE {€}").held
    assert bench.slots() == {(held.memory, held.slot): held.pdu}
    assert held.content.sender == RIDGE


def test_every_memory_is_listed(bench):
    """Several texts, wherever the modem put them, are all found; nothing is freed by listing."""
    wanted = [f"LINE {place} MADE" for place in range(4)]
    for text in wanted:
        bench.deliver(RIDGE, text)
    swept(bench, *wanted)
    assert len(bench.slots()) == 4


def test_freed_slot_is_gone(bench):
    """After `free` is done the slot is empty."""
    bench.deliver(RIDGE, "LINE 1 MADE")
    listed = swept(bench, "LINE 1 MADE")
    bench.modem.free(listed.held)
    freed = bench.until(SlotFreed)
    assert (freed.held, freed.done) == (listed.held[0], True)
    assert bench.slots() == {}


def test_reused_slot_is_left_alone(bench):
    """A slot that holds something else by now is not emptied, and that is done."""
    bench.deliver(RIDGE, "first")
    listed = swept(bench, "first")
    held = listed.held[0]
    other = deliver_pdus(RIDGE, "second", NETWORK_TIME)[0]
    bench.reuse(held.memory, held.slot, other)
    bench.modem.free(listed.held)
    assert bench.until(SlotFreed).done
    assert bench.slots() == {(held.memory, held.slot): other}


def test_failing_delete_is_told(bench):
    """A refused delete is not done; the text stays and is listed again."""
    bench.deliver(RIDGE, "LINE 1 MADE")
    listed = swept(bench, "LINE 1 MADE")
    bench.delete_fails(True)
    bench.modem.free(listed.held)
    freed = bench.until(SlotFreed)
    assert not freed.done and freed.said
    assert swept(bench, "LINE 1 MADE").held == listed.held


@pytest.mark.parametrize("text", ["House tank is low since 14:05", "@" * 161, "Bassin à moitié plein – Δ☔" * 4])
def test_sent_text_arrives(bench, text):
    """The whole text arrives; every segment has a reference; the end is told once."""
    bench.modem.send(job(1, text=text))
    ended = bench.until(SendEnded)
    assert (ended.job, ended.outcome) == (1, "sent")
    assert len(ended.references) == measure_text(text).segments
    assert bench.arrived(1) == [(WREN, text)]


def test_refusal_is_told_with_what_it_means(bench):
    """One number is refused; the next job goes its way, in order."""
    bench.refuse(MALLEE, 38)
    bench.modem.send(job(1, to=MALLEE))
    bench.modem.send(job(2))
    first, second = bench.until(SendEnded), bench.until(SendEnded)
    assert (first.job, first.outcome, first.verdict, first.may_have_left) == (1, "refused", "our side", True)
    assert first.why == "the network is out of order"
    assert (second.job, second.outcome) == (2, "sent")
    assert bench.arrived(1) == [(WREN, job(2).text)]


def test_lost_answer_is_unsure(bench):
    """What was handed over and not answered is unsure, though it may well have arrived; the next job goes its way."""
    bench.lose_next_answer()
    bench.modem.send(job(1))
    bench.modem.send(job(2))
    first, second = bench.until(SendEnded), bench.until(SendEnded)
    assert [(ended.job, ended.outcome) for ended in (first, second)] == [(1, "unsure"), (2, "sent")]
    assert bench.arrived(2) == [(WREN, job(1).text)] * 2


def test_report_is_listed(bench):
    """A delivery report comes as a listed PDU, from a slot or without one."""
    if isinstance(bench, LineBench) and not bench.simulated.habits.grants_cnmi:
        pytest.skip("a modem that grants no +CNMI brings no reports")
    bench.modem.send(job(1))
    ended = bench.until(SendEnded)
    bench.report(WREN, ended.references[0])
    if isinstance(bench, LineBench) and bench.simulated.habits.reports == "CDSI":
        bench.modem.sweep()
    listed = bench.until(Listed, lambda news: any(isinstance(held.content, Report) for held in news.held))
    (report,) = [held.content for held in listed.held if isinstance(held.content, Report)]
    assert (report.reference, report.number, report.outcome) == (ended.references[0], WREN, "delivered")


def test_lost_and_back(bench):
    """Unplugged is told; plugged again it is ready by itself and finds what it holds."""
    bench.deliver(RIDGE, "LINE 1 MADE")
    bench.unplug()
    assert bench.until(ModemLost).why
    bench.plug()
    bench.until(ModemReady)
    assert "LINE 1 MADE" in texts(swept(bench, "LINE 1 MADE"))


def test_stop_ends_in_time(bench):
    """Stopping says whether it ended; once is enough."""
    assert bench.modem.stop(2.0)
