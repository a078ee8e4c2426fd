"""Whole days of an outbox: whatever comes, the limits hold, urgent goes first, and nothing is lost."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.facts import Message
from gateway.outbox import Allowance, choose, quiet_until
from gateway.outbox.send_join_or_hold import BURST_WINDOW

START = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
SYDNEY = ZoneInfo("Australia/Sydney")
MINUTE = timedelta(minutes=1)
SEND_TAKES = timedelta(seconds=4)


class Post:
    """The outbox, the limits and the clock; each handing-over takes four seconds and succeeds."""

    def __init__(self, *, burst=10, per_day=100000, quiet=""):
        self.burst, self.per_day, self.quiet = burst, per_day, quiet
        self.now, self.outbox, self.sent, self.inside = START, [], [], {}
        self._last = 0

    def put(self, **more):
        self._last += 1
        self.outbox.append(
            Message(**{"id": self._last, "contact": "w", "number": "+1", "text": "x", "at": self.now, **more})
        )
        return self._last

    def step(self):
        """One decision carried out; when to look again, or None for at once."""
        day_ends = (self.now + timedelta(days=1)).replace(hour=0, minute=0, second=0)
        today = sum(at >= day_ends - timedelta(days=1) for at, _ in self.sent)
        recent = {}
        for at, one in self.sent:
            if self.now - at < BURST_WINDOW:
                recent.setdefault(one.number, []).append(at)
        choice = choose(
            self.outbox,
            recent,
            Allowance(burst=self.burst, texts_per_day=self.per_day, sent_today=today, day_ends=day_ends),
            lambda one: quiet_until(self.quiet, SYDNEY, self.now),
            self.now,
        )
        for one, until in choice.hold:
            self.outbox[self.outbox.index(one)] = replace(one, state="held", not_before=until)
        if choice.join:
            self.outbox = [message for message in self.outbox if message not in choice.join]
            urgent = any(message.urgent for message in choice.join)
            joined = self.put(number=choice.join[0].number, urgent=urgent)
            self.inside[joined] = [message.id for message in choice.join]
        elif choice.send is not None:
            self.now += SEND_TAKES
            self.outbox.remove(choice.send)
            self.sent.append((self.now, choice.send))
        elif not choice.hold:
            return choice.wake_at or self.now + timedelta(days=1)
        return None

    def until(self, end):
        """Works until then."""
        for _ in range(20000):
            wake = self.step()
            if wake is not None:
                assert wake > self.now, "it would spin"
                if wake >= end:
                    self.now = max(self.now, end)
                    return
                self.now = wake
        raise AssertionError("it never came to rest")

    def told(self):
        """The ids of all that left, also within digests."""

        def of(id_):
            return [one for part in self.inside[id_] for one in of(part)] if id_ in self.inside else [id_]

        return sorted(one for _, message in self.sent for one in of(message.id))

    def most_in_ten_minutes(self, number):
        times = [at for at, message in self.sent if message.number == number]
        return max((sum(at <= other < at + BURST_WINDOW for other in times) for at in times), default=0)


WAVES = st.lists(
    st.tuples(st.integers(0, 400), st.lists(st.tuples(st.sampled_from(["+1", "+2"]), st.booleans()), max_size=30)),
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(WAVES, st.integers(1, 10), st.sampled_from([3, 100000]), st.sampled_from(["", "22:00-06:30"]))
def test_row_41_any_days_keep_the_limits_and_lose_nothing(waves, burst, per_day, quiet):
    """However messages come: at most `burst` each in any ten minutes, and after three days each has left exactly once."""
    post, put = Post(burst=burst, per_day=per_day, quiet=quiet), []
    for minutes, wave in sorted(waves, key=lambda one: one[0]):
        post.until(START + minutes * MINUTE)
        put += [post.put(number=number, urgent=urgent) for number, urgent in wave]
    post.until(START + timedelta(days=12))
    assert post.told() == sorted(put) and not post.outbox
    assert max(post.most_in_ten_minutes("+1"), post.most_in_ten_minutes("+2")) <= burst


@settings(max_examples=60, deadline=None)
@given(st.lists(st.booleans(), min_size=1, max_size=40))
def test_urgent_leaves_before_the_rest(kinds):
    """Of what waits for one contact, no plain message leaves before an urgent one, unless joined with it."""
    post = Post()
    urgent = {post.put(urgent=kind) for kind in kinds if kind}
    for kind in kinds:
        if not kind:
            post.put()
    post.until(START + timedelta(hours=2))
    alone = [message.id for _, message in post.sent if message.id not in post.inside]
    assert alone == sorted(alone, key=lambda id_: (id_ not in urgent, id_))


@pytest.mark.parametrize("urgent", [0, 1, 200])
def test_row_19_two_hundred_waiting_become_nine_and_a_digest(urgent):
    """200 messages of one moment: ten leave, the last of them a digest, urgent first in it and before it."""
    post = Post()
    for number in range(200):
        post.put(urgent=number >= 200 - urgent)
    post.until(START + timedelta(minutes=9))
    assert len(post.sent) == 10 and len(post.told()) == 200
    assert post.sent[0][1].urgent is (urgent > 0)
    digest = post.inside[post.sent[-1][1].id]
    assert digest == sorted(digest, key=lambda id_: (id_ <= 200 - urgent, id_))


def test_urgent_breaks_the_nights_quiet_and_the_days_limit():
    """What is urgent leaves at once; the rest waits for the morning, as one message."""
    post = Post(quiet="22:00-06:30", per_day=0)
    post.now = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)  # midnight in Sydney
    urgent, plain = post.put(urgent=True), post.put()
    post.step(), post.step(), post.step()
    assert [message.id for _, message in post.sent] == [urgent]
    assert [(message.id, message.state) for message in post.outbox] == [(plain, "held")]


def test_row_42_one_contact_that_always_fails_delays_nobody():
    """A message that waits for its next try is not due; the next contact's leaves."""
    post = Post()
    failing = post.put(number="+2", urgent=True, tries=5, not_before=START + timedelta(minutes=16))
    other = post.put(number="+1")
    post.until(START + timedelta(minutes=1))
    assert [message.id for _, message in post.sent] == [other] and [message.id for message in post.outbox] == [failing]


def test_what_may_have_left_is_never_joined():
    """A possible repeat leaves alone, so that it leaves marked: neither in a flood's digest nor in the morning's."""
    plenty = Allowance(burst=10, texts_per_day=100, sent_today=0, day_ends=START + timedelta(hours=9))
    old = [
        Message(
            id=id_, contact="w", number="+1", text="x", at=START + id_ * MINUTE, state=state, possible_repeat=repeat
        )
        for id_, (state, repeat) in enumerate([("unsure", True), ("held", False), ("held", False)])
    ]
    nine = {"+1": [START + timedelta(hours=1)] * 9}
    first = choose(old, nine, plenty, lambda one: None, START + timedelta(hours=1))
    assert first.send is old[0] and not first.join
    then = choose(old[::-1], {}, plenty, lambda one: None, START + timedelta(hours=1))
    assert then.send is old[0]
    assert choose(old[1:], {}, plenty, lambda one: None, START + timedelta(hours=1)).join == tuple(old[1:])


@pytest.mark.parametrize(
    ("state", "ahead", "due"),
    [
        ("waiting", timedelta(minutes=66), False),
        ("waiting", timedelta(hours=2), True),
        ("unsure", timedelta(days=3650), True),
        ("held", timedelta(hours=24), False),
        ("held", timedelta(days=3650), True),
    ],
)
def test_row_31_no_message_waits_for_a_clock_that_was_wrong(state, ahead, due):
    """A wait longer than any rule gives began before the clock was set back: it is over."""
    post = Post()
    post.put(state=state, not_before=START + ahead)
    post.step()
    assert bool(post.sent) is due


def test_row_31_hand_overs_in_the_future_bar_nobody():
    """Ten messages left an hour ahead, by a clock that was set back since: the contact is not shut off for that hour."""
    recent = {"+1": [START + timedelta(hours=1)] * 10}
    one = Message(id=1, contact="w", number="+1", text="x", at=START)
    plenty = Allowance(burst=10, texts_per_day=100, sent_today=0, day_ends=START + timedelta(hours=9))
    assert choose([one], recent, plenty, lambda message: None, START).send is one
