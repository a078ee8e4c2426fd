"""What becomes of a message, which goes next, and until when it is quiet."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts import Message
from gateway.outbox import Allowance, Change, after_report, after_send, at_start, choose, quiet_until
from gateway.outbox.send_join_or_hold import plainly_next
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
    assert all(message in outbox for message in chosen)
    if gone >= PLENTY.burst:
        assert not any(message.number == "+1" for message in chosen)
    if choice.send is not None and not choice.send.urgent:
        assert not any(message.urgent and message.number == choice.send.number for message in outbox)
    if outbox and not chosen:
        assert choice.wake_at is not None


def test_the_last_of_the_burst_is_a_digest():
    """With one message left and several waiting, the rest of that contact is joined, urgent first."""
    outbox = [message(1), message(2, urgent=True), message(3)]
    choice = choose(outbox, {"+61491570156": [NOW] * 9}, PLENTY, lambda one: None, NOW)
    assert [message.id for message in choice.join] == [2, 1, 3]


def test_the_days_limit_holds_all_but_urgent():
    """Beyond `texts_per_day` the rest is held until the day ends."""
    used = Allowance(burst=10, texts_per_day=5, sent_today=5, day_ends=NOW + timedelta(hours=5))
    choice = choose([message(1), message(2, urgent=True)], {}, used, lambda one: None, NOW)
    assert choice.send is not None and choice.send.id == 2
    assert choice.over_limit and [(message.id, until) for message, until in choice.hold] == [(1, used.day_ends)]


def test_what_was_held_over_the_night_is_joined():
    """Several held messages of one contact leave as one."""
    outbox = [message(1, state="held"), message(2, state="held")]
    assert [message.id for message in choose(outbox, {}, PLENTY, lambda one: None, NOW).join] == [1, 2]


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


LATER = {"outcome": "refused", "verdict": "later", "why": "busy"}


@pytest.mark.parametrize(
    ("was", "ended", "jitter", "change"),
    [
        ({"tries": 4}, {"outcome": "sent"}, 0, {"state": "sent", "tries": 5}),
        (
            {"tries": 4},
            {"outcome": "not-sent", "said": "off"},
            0,
            {"state": "waiting", "tries": 4, "s": 5, "why": "off"},
        ),
        ({}, LATER, 0, {"state": "waiting", "tries": 1, "s": 60, "why": "busy"}),
        ({}, LATER, 0.5, {"state": "waiting", "tries": 1, "s": 63, "why": "busy"}),
        ({}, LATER, 7, {"state": "waiting", "tries": 1, "s": 66, "why": "busy"}),
        ({}, LATER, -1, {"state": "waiting", "tries": 1, "s": 60, "why": "busy"}),
        ({"tries": 4}, LATER, 0, {"state": "waiting", "tries": 5, "s": 960, "why": "busy"}),
        ({"tries": 75}, LATER, 0, {"state": "waiting", "tries": 76, "s": 3600, "why": "busy"}),
        ({"tries": 76}, LATER, 0, {"state": "failed", "tries": 77, "give_up": True, "why": "busy"}),
        (
            {"tries": 76},
            {**LATER, "verdict": "our side"},
            0,
            {"state": "waiting", "tries": 77, "s": 3600, "why": "busy"},
        ),
        ({}, {**LATER, "verdict": "never"}, 0, {"state": "failed", "tries": 1, "give_up": True, "why": "busy"}),
        (
            {},
            {**LATER, "may_have_left": True},
            0,
            {"state": "unsure", "tries": 1, "s": 60, "possible_repeat": True, "why": "busy"},
        ),
        (
            {},
            {**LATER, "references": (7,)},
            0,
            {"state": "unsure", "tries": 1, "s": 60, "possible_repeat": True, "why": "busy"},
        ),
        ({"tries": 1, "possible_repeat": True}, LATER, 0, {"state": "unsure", "tries": 2, "s": 120, "why": "busy"}),
        (
            {"tries": 1, "possible_repeat": True},
            {"outcome": "unsure", "said": "silence"},
            1,
            {"state": "unsure", "tries": 2, "s": 132, "possible_repeat": True, "why": "silence"},
        ),
    ],
)
def test_what_becomes_of_a_message_to_the_last_word(was, ended, jitter, change):
    """`s`: in so many seconds it goes again; what does not wait has no time."""
    wait = change.pop("s", None)
    not_before = None if wait is None else NOW + timedelta(seconds=wait)
    expected = Change(not_before=not_before, **change)
    assert after_send(message(**was), SendEnded(job=1, **ended), NOW, jitter) == expected


def texts(*rows):
    """Messages from (id, what is other than usual)."""
    return [message(id_, **more) for id_, more in rows]


NINE, TEN = {"+61491570156": [NOW] * 9}, {"+61491570156": [NOW - timedelta(minutes=4)] * 10}
SOON = NOW + timedelta(minutes=5)


@pytest.mark.parametrize(
    ("outbox", "recent", "send", "join", "wake_in_min"),
    [
        ([], {}, None, [], None),
        ([(1, {})], {}, 1, [], None),
        ([(1, {"state": "sent"})], {}, None, [], None),
        ([(1, {"not_before": SOON})], {}, None, [], 5),
        ([(1, {"not_before": SOON}), (2, {})], {}, 2, [], 5),
        ([(1, {"at": NOW}), (2, {"at": NOW - timedelta(minutes=1)})], {}, 2, [], None),
        ([(2, {}), (1, {})], {}, 1, [], None),
        ([(1, {}), (2, {"urgent": True})], {}, 2, [], None),
        # the contact had its ten: it may again when the first of them is ten minutes old; others go meanwhile
        ([(1, {})], TEN, None, [], 6),
        ([(1, {}), (2, {"number": "+61491570157"})], TEN, 2, [], 6),
        ([(1, {}), (2, {"number": "+2"})], {**TEN, "+2": [NOW - timedelta(minutes=7)] * 10}, None, [], 3),
        ([(1, {"number": "+2"}), (2, {})], {**TEN, "+2": [NOW - timedelta(minutes=7)] * 10}, None, [], 3),
        ([(1, {})], {"+61491570156": [NOW - timedelta(minutes=10)] * 10}, 1, [], None),
        # the last of the ten takes everything of that contact with it
        ([(1, {})], NINE, 1, [], None),
        ([(1, {}), (2, {}), (3, {"number": "+2"})], NINE, None, [1, 2], None),
        ([(1, {}), (2, {"possible_repeat": True}), (3, {})], NINE, None, [1, 3], None),
        ([(1, {"possible_repeat": True}), (2, {}), (3, {})], NINE, 1, [], None),
        # what the night held goes as one, without what is urgent or new
        ([(1, {"state": "held"}), (2, {"state": "held"}), (3, {})], {}, None, [1, 2], None),
        ([(1, {"state": "held"}), (2, {})], {}, 1, [], None),
        ([(1, {}), (2, {"state": "held"}), (3, {"state": "held"})], {}, 1, [], None),
        (
            [(1, {"state": "held", "urgent": True}), (2, {"state": "held"}), (3, {"state": "held"})],
            {},
            None,
            [2, 3],
            None,
        ),
    ],
)
def test_what_goes_next(outbox, recent, send, join, wake_in_min):
    """One message, or several as one; and when to look again."""
    choice = choose(texts(*outbox), recent, PLENTY, lambda one: None, NOW)
    assert (choice.send.id if choice.send else None, [message.id for message in choice.join]) == (send, join)
    assert choice.wake_at == (None if wake_in_min is None else NOW + timedelta(minutes=wake_in_min))
    assert choice.hold == () and not choice.over_limit


MORNING, MIDNIGHT = NOW + timedelta(hours=9), NOW + timedelta(hours=5)


@pytest.mark.parametrize(
    ("urgent", "segments", "quiet", "full", "until", "over_limit"),
    [
        (False, 1, False, False, None, False),
        (False, 1, True, False, MORNING, False),
        (True, 1, True, False, None, False),
        (False, 2, False, False, None, False),
        (False, 3, False, False, MIDNIGHT, True),
        (False, 3, True, False, MORNING, False),
        (True, 3, False, False, None, False),
        (False, 1, False, True, MIDNIGHT, False),
        (False, 3, False, True, MIDNIGHT, False),
        (True, 1, False, True, MIDNIGHT, False),
    ],
)
def test_what_is_held_and_until_when(urgent, segments, quiet, full, until, over_limit):
    """By quiet hours, by the day's limit of one phone, by the day's limit of all; and the short way says the same."""
    limits = Allowance(burst=10, texts_per_day=5, sent_today=3, day_ends=MIDNIGHT)
    one = message(urgent=urgent, segments=segments)
    asked = ({}, limits, lambda message: MORNING if quiet else None, NOW, lambda message: full)
    choice = choose([one], *asked)
    assert choice.hold == (() if until is None else ((one, until),))
    assert (choice.send, choice.wake_at, choice.over_limit) == (one if until is None else None, until, over_limit)
    assert plainly_next(one, *asked) is (until is None)
