"""The short way to the next message gives what the whole choice gives, whenever it gives anything."""

from datetime import UTC, datetime, timedelta

from hypothesis import example, given
from hypothesis import strategies as st

from gateway.facts import Message
from gateway.outbox import Allowance, choose
from gateway.outbox.send_join_or_hold import plainly_next

NOW = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
NUMBERS = ("+61491570156", "+61491570157")

messages = st.builds(
    Message,
    contact=st.just("wren"),
    number=st.sampled_from(NUMBERS),
    text=st.just("x"),
    at=st.sampled_from([NOW - 3 * MINUTE, NOW - MINUTE, NOW]),
    state=st.sampled_from(["waiting", "held", "sending", "unsure"]),
    urgent=st.booleans(),
    segments=st.integers(1, 3),
    not_before=st.sampled_from([None, NOW - MINUTE, NOW + 5 * MINUTE, NOW + timedelta(days=900)]),
    possible_repeat=st.booleans(),
)
LIMITS = Allowance(burst=4, texts_per_day=10, sent_today=8, day_ends=NOW + timedelta(hours=9))
ONE = Message(contact="wren", number=NUMBERS[0], text="x", at=NOW)


@given(
    st.lists(messages, min_size=1, max_size=6),
    st.fixed_dictionaries({}, optional={number: st.lists(st.just(NOW - MINUTE), max_size=5) for number in NUMBERS}),
    st.booleans(),
)
@example([ONE], {}, False)
def test_it_is_what_the_whole_choice_sends(outbox, recent, quiet):
    """Any outbox, any hand-overs before, quiet hours or none."""
    numbered = [Message(**{**_fields(message), "id": place}) for place, message in enumerate(outbox)]
    ordered = sorted(numbered, key=lambda one: (not one.urgent, one.at, one.id))
    until = NOW + timedelta(hours=8) if quiet else None
    asked = (recent, LIMITS, lambda one: until, NOW)
    if plainly_next(ordered[0], *asked):
        choice = choose(ordered, *asked)
        assert (choice.send, choice.join) == (ordered[0], ())


def test_it_is_found_where_nothing_is_in_the_way():
    """A message that waits, one of several; not where it is the last before the limit, for then the rest goes with it."""
    for recent, found in (([], True), ([NOW] * 2, True), ([NOW] * 3, False), ([NOW] * 4, False)):
        assert plainly_next(ONE, {ONE.number: recent}, LIMITS, lambda one: None, NOW) is found


def _fields(one):
    return {name: getattr(one, name) for name in Message.__dataclass_fields__}
