"""Who is called first: by the week, by word once they say OK; the others by day, unless nobody answers."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.watch import ask_for_watch
from gateway.status.alarms_listed import alarms_listed
from gateway.status.next_due import next_due
from gateway.status.summary import tanks_line
from gateway.status.watch import on_watch, watch_said
from tests.handlers.days import Days
from tests.household import FINCH, RIDGE, ROBIN, STRANGER, WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
"""A Wednesday; noon in Sydney."""
NIGHT = NOON + timedelta(hours=11)
MIN, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SUNDAY = datetime(2026, 11, 29, 7, 0, tzinfo=UTC)
"""18:00 in Sydney."""
FINCHES = '[[contacts]]\nid = "finch"\nname = "Finch"\nnumber = "0491 570 158"\n'
HALL = '[[contacts]]\nid = "hall"\nname = "Hall"\nnumber = "02 5550 0100"\nline = "landline"\n'
AT_ONCE = '[call_out]\ndelivered_within = "2h"\n'
"""No message of these tests is reported delivered."""
BY_TURNS = f'{AT_ONCE}take_within = "20m"\n'
ROBINS = '[[watch]]\ncontact = "robin"\n'
ASKED = "Will you have the watch? Wren asks. Until Sun 18:00. You would be called first. Reply OK or NO."


@pytest.fixture
def home(tmp_path):
    """A household with these lines in its file; closed at the end."""
    made = []

    def make(rest=FINCHES, **parts):
        made.append(Days(tmp_path, rest=rest, controller='silence_after = "off"', **parts))
        return made[-1]

    yield make
    for days in made:
        days.store.close()


def has_it(days, now):
    """(who, until when) has the watch."""
    with days.store.read() as reader:
        watch = on_watch(reader, days.site, now)
    return watch and (watch.contact.id, watch.until)


def test_it_counts_once_robin_says_ok(home):
    """Robin is asked; both learn that it counts, TANKS and the question say so, and at its end it falls back, told to both."""
    days = home()
    assert days.says(NOON, "WATCH robin until sunday 18:00") == [
        (WREN, "Robin was asked. It counts once Robin says OK."),
        (ROBIN, ASKED),
    ]
    assert has_it(days, NOON) is None
    assert days.says(NOON + MIN, "OK", ROBIN) == [
        (ROBIN, "You have the watch and are called first. Until Sun 18:00."),
        (WREN, "Robin has the watch. Until Sun 18:00."),
    ]
    assert has_it(days, NOON + MIN) == ("robin", SUNDAY)
    assert days.says(NOON + H, "watch?") == [(WREN, "Robin has the watch. Until Sun 18:00.")]
    assert days.says(NOON + H, "WATCH", ROBIN)[0][1].startswith("You have the watch")
    with days.store.read() as reader:
        assert tanks_line(reader, days.site, NOON + H, "mobile").endswith("Robin has the watch until Sun 18:00.")
        assert tanks_line(reader, days.site, NOON + H, "landline").endswith(
            "Robin has the watch until Sunday, 6 o'clock in the evening."
        )
        assert next_due(reader, days.site, NOON + H, verdicts=False) == SUNDAY
    assert (
        days.time_brings(SUNDAY - timedelta(seconds=1)) == []
        and has_it(days, SUNDAY - timedelta(seconds=1)) is not None
    )
    assert days.time_brings(SUNDAY) == [(ROBIN, "The watch of Robin is over."), (WREN, "The watch of Robin is over.")]
    assert has_it(days, SUNDAY) is None and days.time_brings(SUNDAY + H) == []
    kinds = ("watch-asked", "watch-begun", "watch-over")
    assert [(event.kind, event.detail["who"]) for event in days.events(*kinds)] == [(kind, "Robin") for kind in kinds]


def test_who_has_it_by_the_week_learns_that_somebody_else_has_it_and_has_it_again(home):
    """Who asked, who has it now and who had it: each hears once."""
    days = home(rest=FINCHES + '[[watch]]\ncontact = "finch"\n')
    assert has_it(days, NOON)[0] == "finch"
    days.says(NOON, "WATCH robin until sunday 18:00")
    assert days.says(NOON + MIN, "OK", ROBIN)[1:] == [
        (WREN, "Robin has the watch. Until Sun 18:00."),
        (FINCH, "Robin has the watch. Until Sun 18:00."),
    ]
    over = "The watch of Robin is over. Finch has it now."
    assert days.time_brings(SUNDAY) == [(ROBIN, over), (WREN, over), (FINCH, over)]


def test_for_oneself_it_counts_at_once(home):
    """Nobody need be asked; without an end it stands until somebody else has it."""
    days = home()
    assert days.says(NOON, "watch Wren") == [(WREN, "You have the watch and are called first.")]
    assert has_it(days, NOON + 300 * DAY) == ("wren", None)
    days.says(NOON + H, "WATCH robin until sunday 18:00")
    assert days.says(NOON + 2 * H, "ok", ROBIN)[1] == (WREN, "Robin has the watch. Until Sun 18:00.")
    assert has_it(days, NOON + 2 * H) == ("robin", SUNDAY)


@pytest.mark.parametrize(
    ("number", "says", "wrote"),
    [
        (ROBIN, "NO", MIN),
        (ROBIN, "OK house", MIN),
        (ROBIN, "OK I will", MIN),
        (ROBIN, "OK", -MIN),
        (WREN, "OK", MIN),
        (FINCH, "OK", MIN),
        (STRANGER, "OK", MIN),
        (RIDGE, "OK", MIN),
    ],
)
def test_what_does_not_count(home, number, says, wrote):
    """NO, other words, an OK that was written before the question came, somebody else's, a stranger's, a box's."""
    days = home()
    days.says(NOON, "WATCH robin until sunday 18:00")
    left = days.says(NOON + 2 * MIN, says, number, at=NOON + wrote)
    assert has_it(days, NOON + 2 * MIN) is None and not any("has the watch" in text for _, text in left)


def test_no_is_told_to_who_asked_and_an_ok_after_it_does_nothing(home):
    """All stays as it was."""
    days = home()
    days.says(NOON, "WATCH robin until sunday 18:00")
    assert days.says(NOON + MIN, "NO", ROBIN) == [
        (ROBIN, "Kept: you do not have the watch."),
        (WREN, "Robin does not have the watch: all stays as it was."),
    ]
    assert days.says(NOON + 2 * MIN, "OK", ROBIN) == [(ROBIN, "No alarm waits now. TANKS tells more.")]
    assert has_it(days, NOON + 2 * MIN) is None
    assert days.events("watch-declined")[0].text == "NO"


@pytest.mark.parametrize(("until", "lapses"), [("sunday 18:00", NOON + DAY), ("15:00", NOON + 3 * H)])
def test_no_answer_in_time_is_none(home, until, lapses):
    """After a day, or at its end if that is sooner: told to who asked, and an OK that comes then is too late."""
    days = home()
    days.says(NOON, f"WATCH robin until {until}")
    with days.store.read() as reader:
        assert next_due(reader, days.site, NOON, verdicts=False) == lapses
    assert days.time_brings(lapses - timedelta(seconds=1)) == []
    assert days.says(lapses, "OK", ROBIN) == [(ROBIN, "No alarm waits now. TANKS tells more.")]
    assert days.time_brings(lapses) == [(WREN, "Robin does not have the watch: all stays as it was.")]
    assert days.time_brings(lapses + H) == [] and has_it(days, lapses) is None


def test_asked_twice_is_asked_once_and_a_new_question_ends_the_old_one(home):
    """The same words again send Robin nothing; Robin's OK after Finch was asked does nothing."""
    days = home()
    days.says(NOON, "WATCH robin until sunday 18:00")
    assert days.says(NOON + MIN, "WATCH  robin until sunday 18:00") == [
        (WREN, "Robin was asked. It counts once Robin says OK.")
    ]
    assert [number for number, _ in days.says(NOON + 2 * MIN, "WATCH finch until sunday 18:00")] == [WREN, FINCH]
    assert days.says(NOON + 3 * MIN, "OK", ROBIN) == [(ROBIN, "No alarm waits now. TANKS tells more.")]
    days.says(NOON + 4 * MIN, "OK", FINCH)
    assert has_it(days, NOON + 4 * MIN) == ("finch", SUNDAY)


@pytest.mark.parametrize(
    ("says", "answer"),
    [
        ("WATCH heron until sunday", "Send WATCH, who, and until when: WATCH WREN until sunday 18:00"),
        ("WATCH robin until someday", "Send WATCH, who, and until when: WATCH ROBIN until sunday 18:00"),
        ("WATCH robin until", "Send WATCH, who, and until when: WATCH ROBIN until sunday 18:00"),
        ("WATCH until sunday", "Send WATCH, who, and until when: WATCH WREN until sunday 18:00"),
        ("watch out there", "Send WATCH, who, and until when: WATCH WREN until sunday 18:00"),
        ("WATCH hall until sunday", "Hall cannot have the watch: that takes a mobile that may ask."),
        ("WATCH", "Nobody has the watch: all are called by their turns."),
    ],
)
def test_what_is_not_understood_is_answered_with_how(home, says, answer):
    """Nobody is asked on a guess, and never a phone that cannot answer."""
    days = home(rest=HALL)
    assert days.says(NOON, says) == [(WREN, answer)]
    assert days.events("watch-asked") == ()


def test_an_order_that_came_late_does_nothing(home):
    """Its end is past by now, or somebody has it since it was written; one who may not ask is not heard."""
    days = home(robin="may_ask = true")
    late = "came late and does nothing now"
    (answer,) = days.says(NOON + 6 * H, "WATCH robin until 15:00", at=NOON)
    assert late in answer[1]
    days.says(NOON + 7 * H, "WATCH wren")
    (answer,) = days.says(NOON + 8 * H, "WATCH finch until sunday", ROBIN, at=NOON + 6 * H)
    assert late in answer[1] and has_it(days, NOON + 8 * H) == ("wren", None)
    assert days.events("watch-asked") == ()


def test_who_may_not_ask_gets_no_answer(home):
    """As with every word."""
    days = home(robin="may_ask = false")
    assert days.says(NOON, "WATCH wren until sunday", ROBIN) == [] and has_it(days, NOON) is None


def test_two_of_one_name_are_nobody(home):
    """Nobody is asked on a guess; an id is one contact's."""
    days = home(rest=FINCHES.replace('"Finch"', '"Robin"'))
    assert "Send WATCH" in days.says(NOON, "WATCH robin until sunday")[0][1]
    assert days.says(NOON, "WATCH finch until sunday")[0] == (WREN, "Robin was asked. It counts once Robin says OK.")


def told_of_low(days, now, tank="1"):
    """The house tank is low: who hears of it."""
    days.comes(now, f"LINE {tank} MADE 0717")
    return [number for number, text in days.leaves(now) if "LOW since" in text]


@pytest.mark.parametrize(
    ("rest", "at", "first", "then"),
    [
        (ROBINS + AT_ONCE, NOON, {WREN, ROBIN, FINCH}, set()),
        (ROBINS + AT_ONCE, NIGHT, {ROBIN}, {WREN, FINCH}),
        (ROBINS + BY_TURNS, NOON, {ROBIN}, {WREN, FINCH}),
        (ROBINS + BY_TURNS, NIGHT, {ROBIN}, {WREN, FINCH}),
        (BY_TURNS, NIGHT, {WREN, ROBIN, FINCH}, set()),
        (AT_ONCE, NIGHT, {WREN, ROBIN, FINCH}, set()),
    ],
)
def test_who_has_the_watch_is_called_first(home, rest, at, first, then):
    """Alone at night, and by turns always; the others once it was not answered, also at night."""
    days = home(rest=FINCHES + rest)
    assert set(told_of_low(days, at)) == first
    wait = 20 * MIN if BY_TURNS in rest else 15 * MIN
    assert days.time_brings(at + wait - timedelta(seconds=1)) == []
    assert {number for number, text in days.time_brings(at + wait) if "Nobody has it yet." in text} == then


def test_the_others_learn_by_day_who_sees_to_it(home):
    """They slept; of what is over by the morning they hear nothing."""
    days = home(rest=FINCHES + ROBINS)
    told_of_low(days, NIGHT)
    assert days.says(NIGHT + MIN, "OK", ROBIN) == [(ROBIN, "You have it: House tank LOW.")]
    assert days.time_brings(NIGHT + 8 * H - MIN) == []
    told = {text for number, text in days.time_brings(NIGHT + 8 * H) if number in (WREN, FINCH)}
    assert told == {"Robin sees to it: House tank LOW."}


def test_what_is_over_by_the_morning_is_told_to_nobody_who_slept(home):
    """The message that waited for the day is taken back."""
    days = home(rest=FINCHES + ROBINS)
    told_of_low(days, NIGHT)
    days.says(NIGHT + MIN, "OK", ROBIN)
    days.comes(NIGHT + H, "LINE 1 BROKE 0817")
    assert {number for number, _ in days.leaves(NIGHT + 8 * H)} <= {ROBIN}


def test_what_is_not_urgent_waits_for_the_day_but_for_who_has_the_watch(home):
    """Without a watch, each contact's own quiet hours alone hold it."""
    days = home(rest=FINCHES + ROBINS, robin='about = ["tanks", "controllers"]')
    days.comes(NIGHT, "MAINS GONE")
    assert [number for number, _ in days.leaves(NIGHT)] == [ROBIN]
    assert {number for number, _ in days.time_brings(NIGHT + 8 * H)} == {WREN, FINCH}


def test_who_gets_the_watch_hears_of_what_is_open(home):
    """At once, once; what somebody has is nobody else's."""
    days = home(rest=FINCHES + BY_TURNS, robin="turn = 3")
    assert told_of_low(days, NOON) == [WREN, FINCH]
    days.says(NOON + MIN, "WATCH robin until sunday 18:00")
    left = days.says(NOON + 2 * MIN, "OK", ROBIN)
    assert [text for number, text in left if number == ROBIN and "House tank LOW" in text]
    assert days.says(NOON + 3 * MIN, "OK", ROBIN) == [
        (WREN, "Robin sees to it: House tank LOW."),
        (FINCH, "Robin sees to it: House tank LOW."),
        (ROBIN, "You have it: House tank LOW."),
    ]
    assert not told_again(days.says(NOON + 4 * MIN, "WATCH finch"))


def told_again(left):
    """The messages that call somebody."""
    return [text for _, text in left if "LOW since" in text]


def test_an_ok_takes_the_watch_and_what_was_told_before_it(home):
    """Both were asked of Robin, and both are answered."""
    days = home()
    told_of_low(days, NOON)
    days.says(NOON + MIN, "WATCH robin until sunday 18:00")
    left = days.says(NOON + 2 * MIN, "OK", ROBIN)
    assert (ROBIN, "You have it: House tank LOW.") in left and has_it(days, NOON + 2 * MIN) == ("robin", SUNDAY)


def test_nobody_is_passed_over_when_the_watch_changes_while_an_alarm_is_open(home):
    """By the week Wren has it until midnight, then Robin: Robin is called then, and the others after that."""
    rows = '[[watch]]\ncontact = "wren"\nuntil = "23:00"\n[[watch]]\ncontact = "robin"\n'
    days = home(rest=FINCHES + rows + BY_TURNS)
    assert told_of_low(days, NIGHT - 5 * MIN) == [WREN]
    assert [number for number, _ in days.time_brings(NIGHT + 15 * MIN)] == [ROBIN]
    assert [number for number, _ in days.time_brings(NIGHT + 35 * MIN)] == [FINCH]
    with days.store.read() as reader:
        (listed,) = alarms_listed(reader, days.site, NIGHT + 36 * MIN)
    assert {telling.contact for telling in listed.told} == {"wren", "robin", "finch"}


def test_whoever_is_configured_no_more_has_no_watch(home, tmp_path):
    """The week's pattern holds then; and at its end nobody is missing."""
    days = home()
    days.says(NOON, "WATCH finch until sunday 18:00")
    days.says(NOON + MIN, "OK", FINCH)
    days.configure(rest=ROBINS)
    assert has_it(days, NOON + H)[0] == "robin"
    over = "The watch of finch is over. Robin has it now."
    assert days.time_brings(SUNDAY) == [(WREN, over), (ROBIN, over)]


def test_by_the_command_line(home):
    """Nobody's name stands in the question, and Robin alone is told."""
    days = home()

    def ask(unit: UnitOfWork):
        ask_for_watch(unit, unit.site.contacts["robin"], None, by=None)

    days.at(NOON, ask)
    assert days.leaves(NOON) == [
        (ROBIN, "Will you have the watch? somebody asks. You would be called first. Reply OK or NO.")
    ]
    assert days.says(NOON + MIN, "OK", ROBIN) == [(ROBIN, "You have the watch and are called first.")]
    with days.store.read() as reader:
        assert watch_said(reader, days.site, NOON + MIN) == "Robin has the watch"
