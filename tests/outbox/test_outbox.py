"""What becomes of a message, which goes next, and until when it is quiet."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts import Message
from gateway.outbox import Allowance, after_report, after_send, at_start, choose, quiet_until
from gateway.ports import SendEnded

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
SYDNEY = ZoneInfo("Australia/Sydney")
PLENTY = Allowance(burst=10, texts_per_day=1000, sent_today=0, day_ends=NOW + timedelta(hours=5))


def message(id_=1, **more):
    return Message(**{"id": id_, "contact": "wren", "number": "+61491570156", "text": "x", "at": NOW, **more})


@pytest.mark.parametrize(
    ("outcome", "more", "state", "gives_up"),
    [
        ("sent", {}, "sent", False),
        ("not-sent", {}, "waiting", False),
        ("unsure", {}, "unsure", False),
        ("refused", {"verdict": "never"}, "failed", True),
        ("refused", {"verdict": "our side"}, "waiting", False),
        ("refused", {"verdict": "later"}, "waiting", False),
        ("refused", {}, "waiting", False),
    ],
)
def test_each_outcome(outcome, more, state, gives_up):
    """Sent, refused for good, refused for now, unsure, not handed over."""
    change = after_send(message(), SendEnded(job=1, outcome=outcome, **more), NOW)
    assert (change.state, change.give_up) == (state, gives_up)


def test_row_8_an_unsure_message_is_marked_and_stays_marked():
    """What may have left already goes again as a possible repeat, and is never quietly forgotten to be one."""
    change = after_send(message(), SendEnded(job=1, outcome="unsure"), NOW)
    assert change.possible_repeat and change.state == "unsure"
    for outcome in ("not-sent", "refused"):
        again = after_send(message(possible_repeat=True), SendEnded(job=1, outcome=outcome), NOW)
        assert again.state == "unsure" and again.possible_repeat is None


@pytest.mark.parametrize(
    ("tries", "repeat", "state", "minutes"),
    [(0, False, "unsure", 0.5), (9, False, "unsure", 0.5), (1, True, "unsure", 2), (2, True, "failed", None)],
)
def test_row_8_its_fate_is_lost_three_times_at_most(tries, repeat, state, minutes):
    """Once: again soon. Twice: later. The third time it is given up; refusals before the first do not count."""
    change = after_send(message(tries=tries, possible_repeat=repeat), SendEnded(job=1, outcome="unsure"), NOW)
    assert (change.state, change.give_up) == (state, state == "failed")
    assert change.not_before == (None if minutes is None else NOW + timedelta(minutes=minutes))


def test_row_24_what_stood_at_sending_is_unsure_at_the_start():
    """At most one repeat, marked; and nothing else is touched."""
    change = at_start(message(state="sending"), NOW)
    assert change is not None and change.state == "unsure" and change.possible_repeat and change.not_before == NOW
    for state in ("waiting", "held", "unsure", "sent", "delivered", "failed", "joined"):
        assert at_start(message(state=state), NOW) is None


def test_row_22_a_board_that_boots_over_and_over_repeats_ever_less_often():
    """Killed again each time the message was handed over: the waits double."""
    one, waits = message(state="sending"), []
    for _ in range(8):
        change = at_start(one, NOW)
        waits.append((change.not_before - NOW).total_seconds() / 60)
        one = message(state="sending", tries=change.tries, possible_repeat=True)
    assert waits == [0, 2, 4, 8, 16, 32, 60, 60]


@pytest.mark.parametrize(
    ("outcome", "complete", "state"),
    [
        ("delivered", True, "delivered"),
        ("delivered", False, None),
        ("failed", False, "failed"),
        ("trying", False, None),
    ],
)
def test_reports(outcome, complete, state):
    """Delivered once every segment is."""
    assert after_report(outcome, complete=complete) == state


@given(
    st.lists(st.tuples(st.booleans(), st.sampled_from(["+1", "+2"]), st.integers(0, 600)), max_size=60),
    st.integers(0, 12),
)
def test_never_more_than_the_burst_and_urgent_first(rows, gone):
    """Whatever waits: no contact beyond its burst, urgent before others, and nothing disappears."""
    outbox = [
        message(place, urgent=urgent, number=to, contact=to, at=NOW - timedelta(seconds=age))
        for place, (urgent, to, age) in enumerate(rows, start=1)
    ]
    recent = {"+1": [NOW - timedelta(minutes=1)] * gone}
    choice = choose(outbox, recent, PLENTY, lambda one: None, NOW)
    chosen = [choice.send] if choice.send else list(choice.join)
    assert all(one in outbox for one in chosen)
    if gone >= PLENTY.burst:
        assert not any(one.number == "+1" for one in chosen)
    if choice.send is not None and not choice.send.urgent:
        assert not any(one.urgent and one.number == choice.send.number for one in outbox)
    if outbox and not chosen:
        assert choice.wake_at is not None


def test_the_last_of_the_burst_is_a_digest():
    """With one message left and several waiting, the rest of that contact is joined, urgent first."""
    outbox = [message(1), message(2, urgent=True), message(3)]
    choice = choose(outbox, {"+61491570156": [NOW] * 9}, PLENTY, lambda one: None, NOW)
    assert [one.id for one in choice.join] == [2, 1, 3]


def test_the_days_limit_holds_all_but_urgent():
    """Beyond `texts_per_day` the rest is held until the day ends."""
    used = Allowance(burst=10, texts_per_day=5, sent_today=5, day_ends=NOW + timedelta(hours=5))
    choice = choose([message(1), message(2, urgent=True)], {}, used, lambda one: None, NOW)
    assert choice.send is not None and choice.send.id == 2
    assert choice.over_limit and [(one.id, until) for one, until in choice.hold] == [(1, used.day_ends)]


def test_what_was_held_over_the_night_is_joined():
    """Several held messages of one contact leave as one."""
    outbox = [message(1, state="held"), message(2, state="held")]
    assert [one.id for one in choose(outbox, {}, PLENTY, lambda one: None, NOW).join] == [1, 2]


@pytest.mark.parametrize(
    ("quiet", "local", "ends"),
    [
        ("22:00-06:30", "2026-11-25T23:00", "2026-11-26T06:30"),
        ("22:00-06:30", "2026-11-25T06:29", "2026-11-25T06:30"),
        ("22:00-06:30", "2026-11-25T06:30", None),
        ("22:00-06:30", "2026-11-25T21:59", None),
        ("12:00-14:00", "2026-11-25T13:00", "2026-11-25T14:00"),
        ("", "2026-11-25T23:00", None),
    ],
)
def test_quiet_hours(quiet, local, ends):
    """Over midnight and within a day; the end itself is not quiet."""
    found = quiet_until(quiet, SYDNEY, datetime.fromisoformat(local).replace(tzinfo=SYDNEY))
    assert (found.astimezone(SYDNEY).strftime("%Y-%m-%dT%H:%M") if found else None) == ends


ZONES = ("Australia/Sydney", "Europe/Vienna", "America/St_Johns", "Africa/Cairo", "Pacific/Chatham")


@pytest.mark.parametrize("zone", ZONES)
def test_row_32_each_local_end_comes_once_a_day(zone):
    """Ten years of quiet hours through summer time: one end a day, in order, each the local hour it should be."""
    here = ZoneInfo(zone)
    at, ends = datetime(2026, 1, 1, 12, tzinfo=UTC), []
    while at < datetime(2036, 1, 1, tzinfo=UTC):
        found = quiet_until("22:00-06:30", here, at)
        if found is not None:
            assert found > at
            ends.append(found)
            at = found + timedelta(hours=10)
        else:
            at += timedelta(hours=2)
    days = [end.astimezone(here).date() for end in ends]
    assert len(set(days)) == len(days) and all(end.astimezone(here).strftime("%H:%M") == "06:30" for end in ends)
