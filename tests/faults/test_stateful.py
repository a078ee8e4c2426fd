"""Row 20 as a state machine: texts, repeats, cuts, unplugging, refusals, lost answers and clock steps in any order.

After each step the invariants of the fault table hold; at the end everything comes to rest and nothing is missing.
"""

import shutil
import tempfile
from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from gateway.inbox.repeats import REPEAT_WITHIN
from gateway.modem.error_codes import refusal
from tests.fakes.fake_clock import START
from tests.fakes.fake_modem import NOT_SENT, SENT, UNSURE, UNSURE_LOST, refused
from tests.faults.board import REPEAT, UNLIMITED, Board, Fresh
from tests.household import RIDGE, STRANGER, WREN

OUTCOMES = st.sampled_from([SENT, SENT, UNSURE, UNSURE_LOST, NOT_SENT, refused(38), refused(41), refused(500)])


class GatewayUnderFaults(RuleBasedStateMachine):
    """One household; every rule is something that happens to it."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="stateful-"))
        self.count, self.cuts, self.unsure = 0, 0, 0
        self.accepted: set[str] = set()
        self.last: tuple[str, ...] = ()
        self.last_at = START

    @initialize()
    def power_on(self) -> None:
        """A fresh store, a fresh modem."""
        self.board: Board = Fresh(self.folder).board(rest=UNLIMITED)
        clock, began_s = self.board.clock, self.board.clock.monotonic()
        self.board.modem.now = lambda: (START + timedelta(seconds=clock.monotonic() - began_s)).replace(microsecond=0)
        self.board.start()

    def teardown(self) -> None:
        """Everything comes to rest; then the whole account is made."""
        if hasattr(self, "board"):
            self._come_to_rest()
            self.board.cut()
        shutil.rmtree(self.folder, ignore_errors=True)

    # --- what happens ---

    @rule(low=st.booleans())
    def float_switches(self, low: bool) -> None:
        """The controller texts."""
        self._deliver(RIDGE, f"LINE {1 + self.count % 2} {'MADE' if low else 'BROKE'}")

    @rule(
        sender=st.sampled_from([RIDGE, WREN, STRANGER]), text=st.sampled_from(["TANKS", "OK", "NOTE seen", "GIBBERISH"])
    )
    def somebody_texts(self, sender: str, text: str) -> None:
        """Orders, what nobody reads, strangers."""
        self._deliver(sender, text)

    @rule()
    def network_repeats(self) -> None:
        """The last text comes once more, octet for octet, as long as that is a repeat by our clock (row 62)."""
        if self.last and abs(self.board.clock.now() - self.last_at) < REPEAT_WITHIN:
            self.board.modem.deliver_pdus(self.last)
            self.board.settle()

    @rule(steps=st.integers(min_value=1, max_value=40))
    def cut_in_work(self, steps: int) -> None:
        """The plug is pulled at that step, or at the latest when all is done."""
        self.board.cut_after(steps)
        self.cuts += 1
        if not self.board.run_cut(lambda: self._deliver(RIDGE, "LINE 1 MADE")):
            self.board.cut()
        self._start()

    @rule()
    def unplugged_and_back(self) -> None:
        """The modem goes away and comes back."""
        self.board.modem.lose()
        self.board.settle()
        self.board.modem.back()
        self.board.settle()

    @rule(outcomes=st.lists(OUTCOMES, min_size=1, max_size=3))
    def sends_will_end(self, outcomes) -> None:
        """How the next sends end."""
        self.board.modem.outcomes.extend(outcomes)
        # a refusal that does not exclude that the text left makes the next one a repeat too, and is marked
        self.unsure += sum(outcome.outcome == "unsure" or _may_have_left(outcome) for outcome in outcomes)

    @rule(fails=st.booleans())
    def deleting(self, fails: bool) -> None:
        """The modem will not (or will again) free its slots."""
        self.board.modem.delete_fails = fails

    @rule(seconds=st.integers(min_value=1, max_value=7200))
    def time_passes(self, seconds: int) -> None:
        """And the modem is swept, as it is by its own timer."""
        self.board.pass_time(timedelta(seconds=seconds), at_least_s=600)
        self.board.modem.sweep()
        self.board.settle()

    @rule(days=st.integers(min_value=-400, max_value=400))
    def clock_steps(self, days: int) -> None:
        """Somebody sets the clock."""
        self.board.clock.step(timedelta(days=days))
        self.board.settle()

    # --- what always holds ---

    @invariant()
    def nothing_lost_or_doubled(self) -> None:
        """What left twice is marked, and no more left twice than was cut or unsure."""
        if not hasattr(self, "board"):
            return
        board = self.board
        repeats = sum(text.startswith(REPEAT) for text in board.arrived())
        assert repeats <= self.cuts + self.unsure
        told = Counter(message.id for message in board.unmarked())
        assert all(count == 1 for count in told.values()), "a message left twice without a mark"

    def _deliver(self, sender: str, text: str) -> None:
        self.count += 1
        self.board.clock.advance(1.0)
        said = f"{text} {self.count:04}" if text.startswith(("LINE", "NOTE", "GIBBERISH")) else text
        self.accepted.add(said)
        self.last = ()  # cut meanwhile: the text before is no longer the last one
        self.last = self.board.hears(sender, said)
        self.last_at = self.board.clock.now()

    def _start(self) -> None:
        self.board.start()

    def _come_to_rest(self) -> None:
        board = self.board
        board.modem.delete_fails = False
        board.modem.outcomes.clear()
        board.modem.sweep()
        board.settle()
        for _ in range(5):
            board.pass_time(timedelta(hours=2), at_least_s=1800)
        texts = [text.text for text in board.texts("in")]
        assert self.accepted <= set(texts), self.accepted - set(texts)
        numbered = [text for text in texts if text[-4:].isdigit()]
        assert len(numbered) == len(set(numbered)), "a text is stored twice"
        lows = [event.text for event in board.events("low", "low-over") if event.text]
        assert len(lows) == len(set(lows)), "an event is stored twice"
        assert not board.modem.slots, "every slot is free"
        left = [text.state for text in board.texts("out") if text.state in ("waiting", "sending", "unsure")]
        assert not left, left


GatewayUnderFaults.TestCase.settings = settings(
    max_examples=25,
    stateful_step_count=15,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)
TestRow20AnyOrder = GatewayUnderFaults.TestCase


@pytest.mark.soak
def test_row_20_any_order_at_length(seed):
    """The same for a thousand histories."""
    from hypothesis import seed as seeded
    from hypothesis.stateful import run_state_machine_as_test

    long = settings(max_examples=1000, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck))
    seeded(seed)(run_state_machine_as_test)(GatewayUnderFaults, settings=long)


def _may_have_left(outcome) -> bool:
    return outcome.outcome == "refused" and refusal(0, outcome.family, outcome.code).may_have_left
