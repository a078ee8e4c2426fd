"""Clocks, stamps and deliveries as a state machine: whatever time anybody says it is, no real change of a float is lost, no old one revives.

True time goes by with the board's monotonic clock. The board's wall clock is set to and fro, boots in 1970 or with an old time; the centre
stamps rightly, behind, ahead, in whole minutes, without its zone, or always the same; texts come at once, a second time, or days late.
"""

import shutil
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from gateway.inbox.repeats import REPEAT_WITHIN
from gateway.simulator.pdus import deliver_pdus
from gateway.site import compile_site
from gateway.status.float_memory import float_memory
from tests.fakes.fake_clock import START
from tests.faults.board import UNLIMITED, Board, Fresh
from tests.household import RIDGE, WREN

CENTRES = st.sampled_from(["right", "whole minutes", "behind", "ahead", "without its zone", "stuck"])
SPANS = st.one_of(
    st.integers(min_value=1, max_value=600),
    st.integers(min_value=600, max_value=36_000),
    st.integers(min_value=36_000, max_value=400_000),
)
LATE = timedelta(hours=15)


class TimesOfAllSorts(RuleBasedStateMachine):
    """One box with one float, and everything that tells the time."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="times-"))
        self.stuck_at = START
        self.centre, self.off = "right", timedelta(0)
        self.active = False
        self.held: list[tuple[datetime, bool, tuple[str, ...]]] = []
        self.last: tuple[str, ...] = ()
        self.last_true = START
        self.newest_sent = START

    @initialize()
    def power_on(self) -> None:
        """A fresh store, a fresh modem."""
        self.board: Board = Fresh(self.folder).board(rest=UNLIMITED, controller='silence_after = "off"')
        self.began_s = self.board.clock.monotonic()
        self.passed = timedelta(0)
        self.board.start()

    def teardown(self) -> None:
        """Off."""
        if hasattr(self, "board"):
            self.board.cut()
        shutil.rmtree(self.folder, ignore_errors=True)

    @property
    def true_now(self) -> datetime:
        """What time it is."""
        return START + self.passed + timedelta(seconds=self.board.clock.monotonic() - self.began_s)

    # --- what happens ---

    @rule(seconds=SPANS)
    def time_passes(self, seconds: int) -> None:
        """For everybody."""
        self.board.pass_time(timedelta(seconds=seconds), at_least_s=3600)

    @rule(hours=st.floats(min_value=-30, max_value=30))
    def clock_is_set_by_hours(self, hours: float) -> None:
        """By somebody, or by a time server at last."""
        self.board.clock.step(timedelta(hours=hours))
        self.last = ()
        self.board.settle()

    @rule(days=st.sampled_from([-4000, -400, -40, 40, 400, 3652]))
    def clock_is_set_by_days(self, days: int) -> None:
        """By mistake."""
        self.board.clock.step(timedelta(days=days))
        self.last = ()
        self.board.settle()

    @rule()
    def clock_is_set_right(self) -> None:
        """To the true time."""
        self.board.clock.set(self.true_now)
        self.last = ()
        self.board.settle()

    @rule(off_s=st.integers(min_value=30, max_value=1_000_000), wakes=st.sampled_from(["1970", "then", "right"]))
    def board_was_off(self, off_s: int, wakes: str) -> None:
        """Its power fails for a while; it wakes with no time, with that of its end, or with the right one."""
        then = self.board.clock.now()
        self.board.cut()
        self.passed = self.true_now - START + timedelta(seconds=off_s)
        self.board.clock.reboot({"1970": datetime(1970, 1, 1, tzinfo=UTC), "then": then}.get(wakes))
        self.began_s = self.board.clock.monotonic()
        if wakes == "right":
            self.board.clock.set(self.true_now)
        self.last = ()
        self.board.start()

    @rule(centre=CENTRES, hours=st.floats(min_value=0.3, max_value=14))
    def centre_changes(self, centre: str, hours: float) -> None:
        """Another centre, or a summer time that came late."""
        self.centre, self.off = centre, timedelta(hours=hours)
        self.stuck_at = self.true_now.replace(microsecond=0)

    @rule(active=st.booleans())
    def box_texts(self, active: bool) -> None:
        """And its text comes at once."""
        pdus = self._sent(active)
        self._comes(pdus, active)
        self.last, self.last_true = pdus, self.true_now

    @rule(active=st.booleans())
    def box_texts_and_the_network_keeps_it(self, active: bool) -> None:
        """Until it is delivered."""
        self.board.clock.advance(1.0)
        self.held.append((self.true_now, active, self._sent(active)))

    @precondition(lambda self: self.held)
    @rule(which=st.integers(min_value=0))
    def network_delivers_at_last(self, which: int) -> None:
        """What it kept."""
        sent_at, active, pdus = self.held.pop(which % len(self.held))
        before = self._state()
        told = len(self.board.arrived(WREN))
        self.board.modem.deliver_pdus(pdus)
        self.board.settle()
        self.last = ()
        overtaken = self.newest_sent - sent_at > LATE + timedelta(minutes=2)
        clock_right = abs(self.board.clock.now() - self.true_now) < timedelta(minutes=1)
        if overtaken and clock_right and self._stamps_told_truth:
            assert self._state() == before, "an old one revived"
            assert before == ("active" if active else "idle") or len(self.board.arrived(WREN)) > told, (
                "late, and not told"
            )
        elif sent_at >= self.newest_sent:
            self._must_be(active)
        self._note_sent(sent_at)

    @precondition(lambda self: self.last)
    @rule()
    def network_repeats(self) -> None:
        """The last text once more, octet for octet."""
        if self.true_now - self.last_true < REPEAT_WITHIN:
            before = len(self.board.events())
            self.board.modem.deliver_pdus(self.last)
            self.board.settle()
            assert len(self.board.events()) == before
            assert self.board.repeats(), "and there is a line of it"

    # --- what always holds ---

    _stamps_told_truth = True

    def _sent(self, active: bool) -> tuple[str, ...]:
        return deliver_pdus(RIDGE, f"LINE 1 {'MADE' if active else 'BROKE'} x", self._stamp())

    def _stamp(self) -> datetime:
        now = self.true_now.replace(microsecond=0)
        if self.centre not in ("right", "whole minutes"):
            self._stamps_told_truth = False
        match self.centre:
            case "whole minutes":
                return now.replace(second=0)
            case "behind":
                return now - self.off
            case "ahead":
                return now + self.off
            case "without its zone":
                return now + timedelta(hours=11)
            case "stuck":
                return self.stuck_at
            case _:
                return now

    def _comes(self, pdus: tuple[str, ...], active: bool) -> None:
        before, told = self._state(), len(self.board.arrived(WREN))
        self.board.modem.deliver_pdus(pdus)
        self.board.settle()
        self._must_be(active)
        said = " ".join(self.board.arrived(WREN)[told:])
        if active and before != "active":
            assert "House tank LOW" in said, "a low tank was not told"
        if not active and before == "active":
            assert "no longer low" in said, "that it is over was not told"
        self._note_sent(self.true_now)
        self.board.clock.advance(1.0)

    def _must_be(self, active: bool) -> None:
        assert self._state() == ("active" if active else "idle"), "a real change was lost"

    def _note_sent(self, sent_at: datetime) -> None:
        self.newest_sent = max(self.newest_sent, sent_at)

    def _state(self) -> str:
        assert self.board.store is not None
        site = compile_site(self.board.settings)
        with self.board.store.read() as reader:
            return float_memory(reader, site.floats["ridge", "1"]).state


TimesOfAllSorts.TestCase.settings = settings(
    max_examples=40,
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)
TestTimesInAnyOrder = TimesOfAllSorts.TestCase


@pytest.mark.soak
def test_times_in_any_order_at_length(seed):
    """The same for a thousand histories."""
    from hypothesis import seed as seeded
    from hypothesis.stateful import run_state_machine_as_test

    long = settings(max_examples=1000, stateful_step_count=40, deadline=None, suppress_health_check=list(HealthCheck))
    seeded(seed)(run_state_machine_as_test)(TimesOfAllSorts, settings=long)
