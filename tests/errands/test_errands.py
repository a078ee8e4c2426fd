"""Errands from ordered to ended: the answer that is expected, another one, none; one at a time; each with who, when and the round trip."""

from datetime import timedelta

import pytest

from gateway.handlers import gateway_life
from gateway.ports import ModemReady
from tests.errands.field_days import NOON, FieldDays
from tests.household import ROBIN, WREN

MIN = timedelta(minutes=1)


@pytest.fixture
def days(tmp_path):
    """A household whose box was heard at noon."""
    return FieldDays(tmp_path)


def test_the_answer_comes(days):
    """The time is filled in, the round trip is ours; what the answer reads counts, though no rule knows it, and is no unread text."""
    ordered = days.order(NOON, "status")
    assert days.to_the_box(NOON) == ["REPORT 12:00"]
    days.comes(NOON + MIN, "State 12.4 V")
    (answered,) = days.events("errand-answered")
    detail = answered.detail
    assert (answered.text, detail["order"], detail["round_trip_s"], detail["tries"]) == (
        "State 12.4 V",
        ordered.id,
        60,
        1,
    )
    assert [event.detail["volts"] for event in days.events("reading")] == [12.4]
    assert not days.events("unread") and days.leaves(NOON + MIN) == []


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("STATE 12.4 V", "errand-answered"),
        ("WHAT?", "errand-unexpected"),
        ("LINE 1 MADE 1201", None),
        ("MAINS GONE", None),
        ("STATION WELL 1201", None),
    ],
)
def test_what_is_an_answer(days, text, ends):
    """What no rule reads is; a float's text, the mains, a sign of life may come by themselves, and it is waited on."""
    days.order(NOON, "status")
    days.leaves(NOON)
    days.comes(NOON + MIN, text)
    assert [kind for kind, _ in days.ends()] == ([ends] if ends else [])


def test_what_may_have_come_by_itself_is_the_answer_if_nothing_better_comes(days):
    """A sign of life instead of the state: told as another answer once its time is over."""
    days.order(NOON, "status")
    days.leaves(NOON)
    days.comes(NOON + MIN, "STATION WELL 1201")
    days.due(NOON + 5 * MIN)
    (event,) = days.events("errand-unexpected")
    assert (event.text, event.detail["round_trip_s"]) == ("STATION WELL 1201", 60)


def test_it_is_sent_as_often_as_it_may_be(days):
    """Three tries of two minutes; the cost of each is counted."""
    days.order(NOON, "names")
    sent = [days.to_the_box(NOON + minutes * MIN) for minutes in (0, 1)]
    for minutes in (2, 4, 6):
        days.due(NOON + minutes * MIN)
        sent.append(days.to_the_box(NOON + minutes * MIN))
    assert sent == [["NAMES?"], [], ["NAMES?"], ["NAMES?"], []]
    (event,) = days.events("errand-unanswered")
    assert (event.detail["tries"], event.detail["segments"]) == (3, 3)


def test_one_at_a_time(days):
    """Two people at once: the second is told so, and only one text leaves."""
    days.texts(NOON, "ASK ridge status")
    days.texts(NOON, "ask Ridge box status", number=ROBIN)
    left = days.leaves(NOON)
    assert [text for number, text in left if number == ROBIN] == [
        "status was NOT sent to Ridge box. Another errand to it is under way."
    ]
    assert len([text for _, text in left if text.startswith("REPORT")]) == 1
    days.comes(NOON + MIN, "STATE 12.4 V")
    assert days.leaves(NOON + MIN) == [(WREN, "Ridge box answered status at 12:01: STATE 12.4 V")]


def test_no_answer_then_a_late_one(days):
    """Whoever asked learns both; the late one is no unread text either."""
    days.texts(NOON, "ASK ridge status")
    days.leaves(NOON)
    days.due(NOON + 5 * MIN)
    assert days.told(NOON + 5 * MIN) == ["Ridge box gave no answer to status, sent at 12:00."]
    days.comes(NOON + 40 * MIN, "STATE 12.4 V")
    assert days.told(NOON + 40 * MIN)[0] == "Ridge box answered status late, at 12:40, asked at 12:00: STATE 12.4 V"
    days.comes(NOON + 50 * MIN, "STATE 12.5 V", at=NOON + 50 * MIN)
    assert days.ends() == [("errand-unanswered", "status"), ("errand-answered", "status")]


def test_the_answer_to_another_errand_is_not_this_ones(days):
    """The first came too late, into the time of the second: each gets its own."""
    days.order(NOON, "status")
    days.leaves(NOON)
    days.due(NOON + 5 * MIN)
    days.order(NOON + 6 * MIN, "names")
    days.leaves(NOON + 6 * MIN)
    days.comes(NOON + 7 * MIN, "STATE 12.4 V")
    days.comes(NOON + 7 * MIN, "NAMES ARE LOW, HIGH")
    assert days.ends() == [("errand-unanswered", "status"), ("errand-answered", "status"), ("errand-answered", "names")]
    assert [event.detail.get("late", False) for event in days.events("errand-answered")] == [True, False]


def test_a_text_that_was_written_before_is_no_answer(days):
    """It fits, but the network took it an hour before the box was asked."""
    days.order(NOON + 60 * MIN, "status")
    days.leaves(NOON + 60 * MIN)
    days.comes(NOON + 61 * MIN, "STATE 12.4 V", at=NOON)
    assert days.ends() == []


def test_what_does_not_leave_in_time_leaves_no_more(days):
    """The network is away for an hour: after five minutes it is taken back, and said."""
    days.texts(NOON, "ASK ridge status")
    days.due(NOON + 5 * MIN)
    assert days.events("errand-refused")[0].detail["why"] == "not-left"
    assert days.leaves(NOON + 60 * MIN) == [(WREN, "status was NOT sent to Ridge box. It could not leave in time.")]


def test_the_network_refuses_it(days):
    """For ever: said as that, once."""
    days.order(NOON, "status")
    days.to_the_box(NOON, "refused", verdict="never", why="no such number")
    assert [(event.kind, event.detail["why"]) for event in days.events("errand-refused")] == [
        ("errand-refused", "network")
    ]


def test_none_is_expected(days):
    """It left, and that is all there is to know."""
    days.order(NOON, "bell")
    assert days.to_the_box(NOON) == ["RING"]
    (event,) = days.events("errand-unanswered")
    assert event.detail["expected"] is False and event.detail["sent_at"]


def test_the_days_texts_are_used_up(tmp_path):
    """An errand does not go beyond them."""
    days = FieldDays(
        tmp_path, rest="[limits]\ntexts_per_day = 1", controller='[[controllers.errands]]\nid = "a"\ntext = "A"'
    )
    days.order(NOON, "a")
    days.leaves(NOON)
    days.due(NOON)
    assert days.order(NOON + MIN, "a").detail["why"] == "limit"


def test_an_errand_that_left_the_configuration(days, tmp_path):
    """What is under way of it ends, and what waits leaves no more."""
    days.order(NOON, "status")
    days.configure()
    days.due(NOON)
    assert days.events("errand-refused")[0].detail["why"] == "gone" and days.leaves(NOON) == []


def test_the_silence_names_what_was_not_answered(tmp_path):
    """Asked an hour before, no answer: whoever goes there knows that it is not the network's day."""
    days = FieldDays(tmp_path, controller='silence_after = "26h"\nask = { text = "STATUS" }')
    days.due(NOON + 25 * 60 * MIN)
    assert days.to_the_box(NOON + 25 * 60 * MIN) == ["STATUS"]
    days.due(NOON + 25 * 60 * MIN + 5 * MIN)
    days.due(NOON + 26 * 60 * MIN + MIN)
    assert "Asked at 13:00, no answer." in days.told(NOON + 26 * 60 * MIN + MIN)[0]


def test_the_asking_is_an_errand_that_any_text_answers(tmp_path):
    """On record with its round trip; the silence is put off as ever."""
    days = FieldDays(tmp_path, controller='silence_after = "26h"\nask = { text = "STATUS" }')
    days.due(NOON + 25 * 60 * MIN)
    days.leaves(NOON + 25 * 60 * MIN)
    days.comes(NOON + 25 * 60 * MIN + MIN, "LINE 1 BROKE 1301")
    assert days.ends() == [("errand-answered", "ask")]
    days.due(NOON + 27 * 60 * MIN)
    assert not days.events("silent")


def test_an_errand_under_way_asks_too(tmp_path):
    """The gateway does not ask beside it; when it has ended unanswered, it does."""
    controller = (
        'silence_after = "26h"\nask = { text = "STATUS" }\n[[controllers.errands]]\nid = "a"\ntext = "A"\nanswer = "B"'
    )
    days = FieldDays(tmp_path, controller=controller)
    days.order(NOON + 25 * 60 * MIN - MIN, "a")
    days.leaves(NOON + 25 * 60 * MIN - MIN)
    days.due(NOON + 25 * 60 * MIN)
    assert days.to_the_box(NOON + 25 * 60 * MIN) == []
    days.due(NOON + 25 * 60 * MIN + 4 * MIN)
    assert days.to_the_box(NOON + 25 * 60 * MIN + 4 * MIN) == ["STATUS"]


ADMIN = """
  [[controllers.errands]]
  id = "admin"
  text = "ADMIN {gateway}"
"""


@pytest.mark.parametrize(
    ("configured", "sim", "leaves"),
    [
        ('number = "0491 570 110"', None, ["ADMIN +61491570110"]),
        ("", "0491570110", ["ADMIN +61491570110"]),
        ('number = "0491 570 110"', "+61491570159", ["ADMIN +61491570110"]),
        ("", None, []),
    ],
)
def test_our_own_number_is_the_configured_one_else_the_sim_s(tmp_path, configured, sim, leaves):
    """Where neither is known the errand is refused in words; a SIM that was changed for one without a number is no more believed."""
    days = FieldDays(tmp_path, controller=ADMIN, line=configured)
    for number in ("+61491570158", sim):
        ready = ModemReady(model="QR-21", memories=("SM",), announces=True, number=number)
        days.at(NOON, lambda unit, ready=ready: gateway_life.modem_news(unit, ready))
    event = days.order(NOON, "admin")
    assert days.to_the_box(NOON) == leaves
    assert (event.kind, event.detail.get("why")) == (
        ("errand-ordered", None) if leaves else ("errand-refused", "no-number")
    )
