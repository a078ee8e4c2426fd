"""What becomes of a message, which goes next, and until when it is quiet."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts import Message
from gateway.outbox import Allowance, after_report, after_send, at_start, choose, quiet_until
from gateway.outbox.codes import PASSING_CMS, PERMANENT_CMS
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
        ("refused", {"family": "cms", "code": 1}, "failed", True),
        ("refused", {"family": "cms", "code": 331}, "waiting", False),
        ("refused", {"family": "cms", "code": 600}, "waiting", False),
        ("refused", {}, "waiting", False),
    ],
)
def test_each_outcome(outcome, more, state, gives_up):
    """Sent, refused for good, refused for now, unsure, not handed over."""
    change = after_send(message(), SendEnded(job=1, outcome=outcome, **more), NOW)
    assert (change.state, change.give_up) == (state, gives_up)


@pytest.mark.parametrize("code", sorted({*PERMANENT_CMS, *PASSING_CMS}))
def test_row_16_every_code(code):
    """Each +CMS code is permanent or passing by the table, never both, and has words."""
    assert (code in PERMANENT_CMS) != (code in PASSING_CMS)
    change = after_send(message(), SendEnded(job=1, outcome="refused", family="cms", code=code), NOW)
    assert (change.state == "failed") is (code in PERMANENT_CMS) and change.why


def test_row_15_back_off_from_one_to_sixty_minutes():
    """1, 2, 4 … 60 minutes for two days and more; given up only after three."""
    waits, tries = [], 0
    for _ in range(9):
        change = after_send(message(tries=tries), SendEnded(job=1, outcome="refused", family="cms", code=331), NOW)
        tries = change.tries
        waits.append((change.not_before - NOW).total_seconds() / 60)
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]
    late = after_send(message(), SendEnded(job=1, outcome="refused", code=331, family="cms"), NOW + timedelta(hours=48))
    assert late.state == "waiting"


def test_an_unsure_message_is_marked_and_stays_marked():
    """What may have left goes again as a possible repeat, and is never quietly forgotten to be one."""
    change = after_send(message(), SendEnded(job=1, outcome="unsure"), NOW)
    assert change.possible_repeat
    again = after_send(message(possible_repeat=True), SendEnded(job=1, outcome="not-sent"), NOW)
    assert again.state == "unsure"


def test_what_stood_at_sending_is_unsure_at_the_start():
    """Row 24: at most one repeat, marked."""
    change = at_start(message(state="sending"), NOW)
    assert change is not None and change.state == "unsure" and change.possible_repeat
    assert at_start(message(), NOW) is None


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
