"""An alarm's life as a state machine: turns, answers, work, folding and ends in any order; it is always somewhere that the table knows.

After each step: who has it is known exactly while it is taken, an end is an end, nobody is called about what is held or folded, an urgent
one that nobody has always has something that comes next while a turn is left, and time alone never takes it or ends it.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from gateway.alarms import rounds
from gateway.alarms.alarm_states import TRANSITIONS
from gateway.alarms.next_step import next_step
from gateway.facts.alarms import Alarm
from gateway.settings.people_tables import CallOut as Table
from gateway.settings.people_tables import Contact

START = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PEOPLE = tuple(
    Contact(id=name, name=name.title(), number=f"+6149157015{turn}", turn=turn)
    for turn, name in enumerate(("wren", "robin", "finch"), start=1)
)
NAMES = st.sampled_from([contact.id for contact in PEOPLE])
TABLES = [Table(take_within=timedelta(minutes=15), remind_every=timedelta(hours=1)), Table()]
STANDING = ("open", "unanswered", "taken")


class LifeOfAnAlarm(RuleBasedStateMachine):
    """One alarm and three people by turns, or all at once."""

    @initialize(table=st.sampled_from(TABLES), priority=st.sampled_from(["urgent", "soon", "record"]))
    def raised(self, table, priority):
        """It begins."""
        self.now, self.table, self.told = START, table, {}
        alarm = Alarm(
            key="low:house", kind="low", tank="house", priority=priority, at_stake=priority == "urgent", since=START,
            raised_at=START, round_at=START, turn_at=START, reminded_at=START, id=1,
        )  # fmt: skip
        self.alarm = alarm
        self._goes_on(rounds.begin_round(alarm, PEOPLE, table, START))

    def _goes_on(self, step):
        was, self.alarm = self.alarm, step.alarm
        assert was.state == step.alarm.state or any(
            TRANSITIONS[(was.state, trigger)] == step.alarm.state
            for state, trigger in TRANSITIONS
            if state == was.state
        )
        if step.alarm.round_at != was.round_at:
            self.told = {}
        self.called = [notification.contact for notification in step.notifications]
        asks = [
            notification.contact
            for notification in step.notifications
            if notification.why not in ("taken", "unanswered")
        ]
        self.told.update({contact: "delivered" for contact in asks})

    @rule(minutes=st.integers(1, 3000))
    def time_passes(self, minutes):
        """Turns, reminders and what comes back; never an end, never a taker."""
        self.now += timedelta(minutes=minutes)
        before = self.alarm.state
        if self.alarm.state == "taken" and self.alarm.back_at <= self.now:
            self._goes_on(rounds.come_back(self.alarm, PEOPLE, self.table, self.now, reached=True))
        elif self.alarm.state in ("open", "unanswered"):
            self._goes_on(rounds.advance(self.alarm, self.told, PEOPLE, self.table, self.now))
            if rounds.reminder_due(self.alarm, self.table, self.now):
                self.alarm = rounds.reminded(self.alarm, self.now)
        assert self.alarm.state in (before, "open", "unanswered")

    @precondition(lambda self: self.alarm.state in ("open", "unanswered"))
    @rule(contact=NAMES)
    def ok(self, contact):
        """Somebody has it."""
        self._goes_on(rounds.take(self.alarm, contact, self.told, self.table, self.now))
        assert self.alarm.taken_by == contact and contact not in self.called

    @precondition(lambda self: self.alarm.state in STANDING)
    @rule(contact=NAMES)
    def no(self, contact):
        """Who said so is not the one who is called next."""
        self._goes_on(rounds.decline(self.alarm, contact, self.told, PEOPLE, self.table, self.now))
        assert self.alarm.state == "unanswered" or contact not in self.called

    @precondition(lambda self: self.alarm.state in STANDING)
    @rule()
    def worse(self):
        """Its own round."""
        self._goes_on(rounds.worsen(self.alarm, PEOPLE, self.table, self.now))
        assert self.alarm.taken_by is None and (self.called or self.alarm.priority == "record")

    @precondition(lambda self: self.alarm.state in STANDING and self.alarm.priority == "urgent")
    @rule()
    def second_call(self):
        """Whoever took it."""
        self._goes_on(rounds.call_again(self.alarm, self.told, PEOPLE, self.table, self.now))
        assert self.called and self.alarm.state == "open"

    @precondition(lambda self: self.alarm.state in (*STANDING, "folded"))
    @rule()
    def work_begins(self):
        """It is held."""
        self.alarm = rounds.hold(self.alarm)

    @precondition(lambda self: self.alarm.state == "held")
    @rule()
    def work_is_over(self):
        """It is told anew."""
        self._goes_on(rounds.begin_round(rounds.release(self.alarm), PEOPLE, self.table, self.now))

    @precondition(lambda self: self.alarm.state in STANDING)
    @rule()
    def a_cause_is_told_instead(self):
        """It goes with that."""
        self.alarm = rounds.fold(self.alarm, replace(self.alarm, id=2))

    @precondition(lambda self: self.alarm.state == "folded")
    @rule()
    def its_cause_is_over(self):
        """It stands by itself again."""
        self.alarm = rounds.unfold(self.alarm, self.now)
        self.told = {}

    @precondition(lambda self: self.alarm.state in (*STANDING, "held", "folded"))
    @rule()
    def reckoned(self):
        """It should be over."""
        self.alarm = rounds.reckon(self.alarm)

    @precondition(lambda self: self.alarm.state != "over")
    @rule()
    def over(self):
        """From anywhere."""
        self.alarm = rounds.end(self.alarm, self.now)

    @invariant()
    def who_has_it_is_known_exactly_while_it_is_taken(self):
        """And until when."""
        if hasattr(self, "alarm"):
            taken = self.alarm.state == "taken"
            assert taken or self.alarm.state == "over" or self.alarm.back_at is None
            assert not taken or (self.alarm.taken_by is not None and self.alarm.back_at is not None)
            assert (self.alarm.folded_in is not None) == (self.alarm.state == "folded")
            assert (self.alarm.over_at is not None) == (self.alarm.state == "over")

    @invariant()
    def something_comes_next_while_it_is_taken_or_reminded_of(self):
        """Nothing of what is held, folded or over."""
        if hasattr(self, "alarm"):
            step = next_step(self.alarm, self.table)
            if self.alarm.state not in STANDING:
                assert step is None
            reminded = self.table.remind_every and self.alarm.priority == "urgent"
            if self.alarm.state == "taken" or (self.alarm.state in STANDING and reminded):
                assert step is not None


TestLifeOfAnAlarm = LifeOfAnAlarm.TestCase
TestLifeOfAnAlarm.settings = settings(max_examples=150, stateful_step_count=40, deadline=None)
