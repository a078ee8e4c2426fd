"""What people are told of alarms, from the first to the end: each by itself, to whom it concerns, and no more than that."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.due import do_what_is_due
from gateway.status.alarm_rounds import next_alarm_due
from gateway.status.alarms_listed import alarms_listed
from tests.handlers.days import Days
from tests.household import RIDGE, ROBIN, WREN

MORNING = datetime(2026, 7, 6, 0, 0, tzinfo=UTC)
"""Ten in the morning at home."""
M, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
TURNS = '[call_out]\ntake_within = "15m"\n'
STOCK = """
[[tanks]]
id = "stock"
name = "Stock tank"
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "low"
"""


@pytest.fixture
def days(tmp_path):
    """Two people by turns; the spring tank feeds the house tank, and a stock tank stands by itself."""
    made = Days(tmp_path, robin="turn = 2", rest=STOCK + TURNS)
    yield made
    made.store.close()


def passes(days, since, until, step=5 * M):
    """Time goes by: what is due is done and what may leave leaves. (time, number, text) of what left."""
    left, now = [], since
    while now <= until:
        days.at(now, lambda unit: do_what_is_due(unit, verdicts=False))
        left += [(now, number, text) for number, text in days.leaves(now)]
        now += step
    return left


def delivered(days, now):
    """Everything that left has arrived."""
    with days.store.write() as tx:
        for text in tx.texts():
            if text.way == "out" and text.state == "sent":
                tx.change_message(text.id, state="delivered")


def standing(days, now=MORNING):
    """What stands, as `alarms --json` lists it, by key."""
    with days.store.read() as reader:
        return {listed.alarm.key: listed for listed in alarms_listed(reader, days.site, now)}


def test_an_ok_on_a_small_matter_ends_no_watch_over_a_bigger_one(days):
    """The spring tank low, OK; then the house tank: a round of its own, with its turns, until somebody has that too."""
    days.comes(MORNING, "LINE 2 MADE 1")
    assert {number for number, _ in days.leaves(MORNING)} == {WREN, ROBIN}
    days.comes(MORNING + M, "OK", number=WREN)
    assert standing(days)["low:spring"].alarm.taken_by == "wren"
    days.leaves(MORNING + M)
    days.comes(MORNING + H, "LINE 1 MADE 2")
    first = days.leaves(MORNING + H)
    assert [number for number, _ in first] == [WREN] and first[0][1].startswith("House tank LOW")
    delivered(days, MORNING + H)
    second = passes(days, MORNING + H, MORNING + 2 * H)
    assert any(number == ROBIN and "House tank LOW" in text for _, number, text in second)
    house = standing(days)["low:house"]
    assert (house.alarm.priority, house.alarm.taken_by) == ("urgent", None)
    assert [folded.key for folded in house.folded] == ["low:spring"] and list(standing(days)) == ["low:house"]


def test_ok_takes_what_that_person_was_told_by_then(days):
    """What had not left when it was written is no part of it; and nor is what was told to another."""
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    wrote = MORNING + M
    days.comes(MORNING + 2 * M, "LINE 3 MADE 2")
    days.leaves(MORNING + 2 * M)
    days.comes(MORNING + 3 * M, "OK", number=WREN, at=wrote)
    now = standing(days)
    assert (now["low:house"].alarm.state, now["low:stock"].alarm.state) == ("taken", "open")
    days.comes(MORNING + 4 * M, "OK", number=ROBIN)
    assert standing(days)["low:stock"].alarm.state == "open"
    assert any("for you were not told of it: Stock tank LOW" in text for _, text in days.outbox())


def test_ok_of_one_takes_only_that(days):
    """`OK stock`."""
    days.comes(MORNING, "LINE 1 MADE 1")
    days.comes(MORNING, "LINE 3 MADE 2")
    days.leaves(MORNING)
    days.comes(MORNING + M, "OK stock tank", number=WREN)
    now = standing(days)
    assert (now["low:house"].alarm.state, now["low:stock"].alarm.state) == ("open", "taken")


def test_no_passes_it_on_at_once(days):
    """The next turn is told, and who said so is answered."""
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    days.comes(MORNING + M, "NO", number=WREN)
    texts = dict(days.leaves(MORNING + M))
    assert "House tank LOW" in texts[ROBIN] and texts[WREN] == "Passed on: House tank LOW."


@pytest.mark.parametrize(("table", "judged"), [(TURNS, True), ("[call_out]\n", False)], ids=["by turns", "all at once"])
def test_a_turn_is_looked_at_when_its_message_should_have_arrived(tmp_path, table, judged):
    """Where another turn follows; until then nothing of it is due."""
    days = Days(tmp_path, robin="turn = 2", rest=STOCK + table)
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    with days.store.read() as reader:
        due = next_alarm_due(reader, days.site, MORNING + M, reader.alarms())
    assert (due == MORNING + 10 * M) is judged
    assert due >= MORNING + 10 * M
    days.store.close()


def test_what_was_taken_comes_back_when_it_is_not_over(days):
    """To who took it, after `taken_for`; then to the others."""
    days.comes(MORNING, "LINE 3 MADE 1")
    days.leaves(MORNING)
    days.comes(MORNING + M, "OK", number=WREN)
    days.leaves(MORNING + M)
    delivered(days, MORNING + M)
    assert standing(days)["low:stock"].next.what == "comes-back"
    left = passes(days, MORNING + 7 * H, MORNING + 9 * H)
    # the message to Wren is not delivered: the others hear ten minutes later
    assert [(now - MORNING, number) for now, number, _ in left[:2]] == [(8 * H + 5 * M, WREN), (8 * H + 15 * M, ROBIN)]
    assert left[0][2].startswith("Stock tank LOW since") and "You have it, and it is not over." in left[0][2]


def test_a_taker_whose_phone_is_off_has_it_no_more(days):
    """The message that they have it does not arrive in ten minutes: the others are told."""
    days.comes(MORNING, "LINE 3 MADE 1")
    days.leaves(MORNING)
    delivered(days, MORNING)
    days.comes(MORNING + M, "OK", number=WREN)
    with days.store.read() as reader:
        assert next_alarm_due(reader, days.site, MORNING + M, reader.alarms()) == MORNING + 11 * M
    left = passes(days, MORNING + M, MORNING + 30 * M)
    assert [(now - MORNING, number) for now, number, text in left if "Stock tank LOW since" in text] == [
        (11 * M, ROBIN)
    ]


def test_a_second_call_before_it_is_dry_even_after_an_ok(days):
    """So long before the early edge of the forecast: who has it and the next turn hear how long, and to close the valve."""
    days.comes(MORNING, "LINE 1 BROKE 0")
    days.comes(MORNING + M, "LINE 1 MADE 1")
    days.leaves(MORNING + M)
    days.comes(MORNING + 2 * M, "OK", number=WREN)
    alarm = standing(days)["low:house"].alarm
    assert alarm.dry_early - alarm.warn_at == 3 * H
    left = passes(days, MORNING + 2 * M, alarm.dry_early)
    calls = [(now, number, text) for now, number, text in left if "the taps may be dry from" in text]
    assert [number for _, number, _ in calls] == [WREN, ROBIN]
    assert all(2 * H < alarm.dry_early - now <= 3 * H + 45 * M for now, _, _ in calls)
    assert all("Close the house valve before. Likely " in text and "Reply OK" in text for _, _, text in calls)


def test_those_told_of_a_beginning_are_told_of_its_end_and_nobody_else(days):
    """The second turn never heard of it."""
    days.comes(MORNING, "LINE 1 MADE 1")
    assert [number for number, _ in days.leaves(MORNING)] == [WREN]
    days.comes(MORNING + 2 * M, "LINE 1 BROKE 2")
    assert [(number, text.split(",")[0]) for number, text in days.leaves(MORNING + 2 * M)] == [
        (WREN, "House tank is no longer low")
    ]


def test_a_short_spell_that_was_over_before_anybody_read_it_is_one_message(tmp_path):
    """In quiet hours, of what is not urgent: one in the morning."""
    days = Days(tmp_path, wren='quiet = "22:00-06:30"', robin="about = []")
    night = MORNING + 17 * H
    days.comes(night, "MAINS GONE")
    days.leaves(night)
    days.comes(night + H, "MAINS BACK")
    left = passes(days, night + H, night + 6 * H)
    assert [text.split(",")[0] for _, _, text in left] == ["Ridge box has power again"]
    assert len(days.events("cancelled")) == 1
    days.store.close()


def test_what_one_box_tells_of_itself_is_one_alarm(days):
    """Power, battery: it changes its words, and calls nobody out; when the first is over the other stands by itself."""
    days.comes(MORNING, "MAINS GONE")
    days.comes(MORNING + H, "SUPPLY 11.6 V")
    days.leaves(MORNING + H)
    (one,) = standing(days).values()
    assert (one.alarm.kind, one.alarm.priority) == ("power-lost", "soon")
    assert [folded.kind for folded in one.folded] == ["battery-low"]
    assert passes(days, MORNING + H, MORNING + 3 * DAY, step=H) == []
    days.comes(MORNING + 3 * DAY, "MAINS BACK")
    assert [listed.alarm.kind for listed in standing(days).values()] == ["battery-low"]


def test_thirty_tanks_at_once_are_named_every_one(tmp_path):
    """In one message to each after the first, in as many segments as it takes."""
    tanks = "".join(
        f'[[tanks]]\nid = "t{n}"\nname = "Paddock {n}"\n[[tanks.floats]]\ncontroller = "ridge"\ninput = {n}\n'
        for n in range(10, 40)
    )
    days = Days(tmp_path, robin='about = ["tanks"]', rest=tanks)
    for n in range(10, 40):
        days.comes(MORNING + n * timedelta(seconds=1), f"LINE {n} MADE {n}")
    left = days.leaves(MORNING + M)
    days.store.close()
    for number in (WREN, ROBIN):
        texts = [text for to, text in left if to == number]
        assert len(texts) == 1 and all(f"Paddock {n} LOW" in texts[0] for n in range(10, 40))


def test_reminders_end_in_one_a_day_that_names_all(tmp_path):
    """Ten days that nobody answers: three and then one a day to each, not twenty-four."""
    days = Days(tmp_path, rest=STOCK + '[call_out]\nremind_every = "1h"\nwarn_before_dry = "0s"\n')
    for text in ("LINE 1 MADE 1", "LINE 3 MADE 2"):
        days.comes(MORNING, text)
    days.leaves(MORNING)
    left = [(now, text) for now, number, text in passes(days, MORNING, MORNING + 10 * DAY, step=H) if number == ROBIN]
    days.store.close()
    assert 10 <= len(left) <= 13
    assert all(
        text.startswith("2 alarms: House tank LOW") and "Stock tank LOW" in text and "Still open" in text
        for _, text in left
    )


def test_no_phone_gets_more_than_its_share_of_a_day(tmp_path):
    """Beyond it only a new urgent alarm leaves, and names what was held."""
    days = Days(tmp_path, robin="about = []", rest="[limits]\na_day_each = 3\nburst = 100\n")
    for number in range(5):
        days.comes(MORNING + number * H, f"odd text {number}")
        days.leaves(MORNING + number * H)
    assert sum(text.way == "out" and text.state == "sent" for text in days.texts()) == 3
    days.comes(MORNING + 6 * H, "LINE 1 MADE 1")
    ((_, urgent),) = days.leaves(MORNING + 6 * H)
    days.store.close()
    assert "House tank LOW" in urgent and "odd text 3" in urgent and "odd text 4" in urgent


def test_a_late_text_says_so(days):
    """Fifty hours late, and still what holds."""
    days.comes(MORNING + 3 * DAY, "LINE 1 MADE 1", at=MORNING + 3 * DAY - 50 * H)
    ((_, text),) = days.leaves(MORNING + 3 * DAY)
    assert text.startswith("(Came 2 days late.) House tank LOW since")


def test_work_on_a_tank_holds_its_alarm(days):
    """It is listed as held until when; then it is told."""
    days.comes(MORNING, "WORK house 2h", number=ROBIN)
    days.comes(MORNING + H, "LINE 1 MADE 1")
    held = standing(days, MORNING + H)["low:house"]
    assert (held.alarm.state, held.next.what, held.next.at) == ("held", "work-over", MORNING + 2 * H)
    left = passes(days, MORNING + 2 * H, MORNING + 2 * H + 5 * M)
    assert any(number == WREN and "House tank LOW" in text for _, number, text in left)


def test_what_is_listed_of_an_alarm(days):
    """Who was told when, by which state of message, who answered; what it says; what comes next."""
    days.comes(MORNING, "LINE 1 MADE 1", number=RIDGE)
    days.leaves(MORNING)
    listed = standing(days)["low:house"]
    assert [(told.contact, told.state, told.answered_at) for told in listed.told] == [("wren", "sent", None)]
    assert (listed.next.what, listed.next.at) == ("next-turn", MORNING + 15 * M)
    assert listed.says.startswith("House tank LOW since 10:00.")
    days.comes(MORNING + M, "OK", number=WREN)
    listed = standing(days)["low:house"]
    assert [(told.contact, told.answered_at) for told in listed.told] == [("wren", MORNING + M)]
    assert (listed.alarm.state, listed.next.what) == ("taken", "second-call")


def silent_after(tmp_path, *texts):
    """The alarm of a box that fell silent after these texts, and what left in the sixty days after."""
    rest = '[call_out]\ntake_within = "15m"\nremind_every = "1h"\nwarn_before_dry = "0s"\n'
    days = Days(tmp_path, robin='turn = 2\nabout = ["tanks", "controllers"]', rest=rest)
    for number, text in enumerate(texts):
        days.comes(MORNING + number * H, text)
    days.leaves(MORNING + len(texts) * H)
    days.at(MORNING, lambda unit: do_what_is_due(unit, verdicts=True))
    left, now = [], MORNING + 2 * DAY
    while now < MORNING + 60 * DAY:
        days.at(now, lambda unit: do_what_is_due(unit, verdicts=True))
        left += days.leaves(now)
        now += 6 * H
    alarm = standing(days, now)["silence:ridge"].alarm
    days.store.close()
    return alarm, [text for number, text in left if number == ROBIN]


def test_a_box_that_dies_calls_nobody_out(tmp_path):
    """One message to each who looks after boxes, in sixty days; its tanks were well when it was last heard."""
    alarm, told = silent_after(tmp_path, "LINE 1 MADE 1", "LINE 1 BROKE 2")
    assert (alarm.priority, alarm.at_stake) == ("soon", False)
    assert [text.split(":")[0] for text in told] == ["Ridge box SILENT"]


def test_a_box_that_dies_while_its_tank_is_low_calls_people_out(tmp_path):
    """For nobody would learn how that goes on; and once a day in the end."""
    alarm, told = silent_after(tmp_path, "LINE 1 MADE 1")
    assert (alarm.priority, alarm.at_stake) == ("urgent", True)
    assert 55 <= len(told) <= 70 and sum("SILENT" in text for text in told) >= 55


def test_what_presses_not_lets_people_sleep(tmp_path):
    """A low tank with a day and a half left, taken in the evening: it comes back when they are up, not at three at night."""
    days = Days(tmp_path, wren='quiet = "22:00-06:30"', robin='quiet = "22:00-06:30"')
    evening = MORNING + 9 * H  # seven at home
    days.comes(evening - H, "LINE 1 BROKE 0")
    days.comes(evening, "LINE 1 MADE 1")
    days.leaves(evening)
    days.comes(evening + M, "OK", number=WREN)
    days.leaves(evening + M)
    with days.store.write() as tx:
        (alarm,) = tx.alarms()
        tx.put_alarm(replace(alarm, dry_early=evening + 36 * H, warn_at=evening + 33 * H))
    left = passes(days, evening + M, evening + 12 * H)
    days.store.close()
    assert [(now - evening, number) for now, number, text in left if "House tank" in text][:1] == [
        (11 * H + 31 * M, WREN)
    ]


def test_who_takes_again_what_came_back_to_them_is_no_news_to_the_others(tmp_path):
    """A low tank that nobody mends for days: Robin hears once that Wren has it, and again only after Robin was called too."""
    days = Days(tmp_path)
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)

    def to_robin(now, hours):
        return [text for _, number, text in passes(days, now, now + hours * H) if number == ROBIN]

    days.comes(MORNING + M, "OK", number=WREN)
    with days.store.write() as tx:
        (alarm,) = tx.alarms()
        tx.put_alarm(replace(alarm, dry_early=None, warn_at=None))  # no second call before it is dry comes between
    assert [text.split(":")[0] for text in to_robin(MORNING + M, 8)] == ["Wren sees to it"]
    now = MORNING + 8 * H + 2 * M
    days.comes(now, "OK", number=WREN)
    assert to_robin(now, 7) == []
    called = to_robin(now + 7 * H, 6)
    assert called and "Nobody has it yet" in called[0], called
    now += 13 * H
    days.comes(now, "OK", number=WREN)
    assert [text.split(":")[0] for text in to_robin(now, 1)] == ["Wren sees to it"]
    days.store.close()


def test_dry_taps_that_somebody_has_let_people_sleep(tmp_path):
    """The water is gone and Wren knows: what they took at nine in the evening comes back when they are up, not at five."""
    days = Days(tmp_path, wren='quiet = "22:00-06:30"', robin='quiet = "22:00-06:30"')
    evening = MORNING + 11 * H  # nine at home
    days.says(evening, "DRY", number=ROBIN)
    assert any("You have it" in text for _, text in days.says(evening + M, "OK", number=WREN))
    left = passes(days, evening + M, evening + 12 * H)
    days.store.close()
    assert [(now - evening, number) for now, number, text in left if "not over" in text][:1] == [(9 * H + 31 * M, WREN)]


def test_who_answers_of_a_cause_answers_of_what_is_told_with_it(days):
    """The spring tank is told with the house tank below it: whoever has both, and what was passed on, is said of both."""
    for controller_says in ("LINE 1 BROKE 0", "LINE 2 BROKE 0", "LINE 2 MADE 1", "LINE 1 MADE 1"):
        days.comes(MORNING, controller_says)
    days.leaves(MORNING)
    days.says(MORNING + M, "OK", number=WREN)

    def answer(number, word):
        return [said for to, said in days.says(MORNING + 2 * M, word, number=number) if to == number]

    both = ("House tank LOW", "Spring tank LOW")
    (has_it,) = answer(ROBIN, "OK")
    assert "Wren" in has_it and all(name in has_it for name in both)
    (passed, *_) = answer(WREN, "NO")
    assert all(name in passed for name in both)


def test_what_presses_wakes_them(tmp_path):
    """Dry before the morning: it comes back after its eight hours whatever the hour is."""
    days = Days(tmp_path, wren='quiet = "22:00-06:30"', robin='quiet = "22:00-06:30"')
    evening = MORNING + 9 * H
    days.comes(evening, "LINE 1 MADE 1")
    days.leaves(evening)
    days.comes(evening + M, "OK", number=WREN)
    days.leaves(evening + M)
    with days.store.write() as tx:
        (alarm,) = tx.alarms()
        tx.put_alarm(replace(alarm, dry_early=evening + 14 * H, warn_at=None))
    left = passes(days, evening + M, evening + 12 * H)
    days.store.close()
    assert [(now - evening, number) for now, number, text in left if "House tank" in text][:1] == [(8 * H + M, WREN)]
