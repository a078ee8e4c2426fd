"""The taps ran dry: an alarm of the house and not a state of the tank, walked through its own taps, ended by somebody's word."""

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from gateway.gsm.segments import measure_text
from gateway.handlers.due import do_what_is_due
from gateway.site import compile_site
from gateway.status import summary
from gateway.status.alarms_listed import alarms_listed
from gateway.status.dry_taps import taps_dry
from gateway.status.next_due import next_due
from gateway.status.snapshot import take_snapshot
from tests.handlers.days import Days
from tests.household import ROBIN, WREN
from tests.storage.test_migrations import SECOND

JUNE, H, DAY = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1), timedelta(days=1)
NOVEMBER = datetime(2026, 11, 25, 4, 0, tzinfo=UTC)
TAPS = '[bleed]\ntaps = ["laundry", "kitchen"]\n'


@pytest.fixture
def days(tmp_path):
    """The household with two named taps."""
    made = Days(tmp_path, rest=TAPS)
    yield made
    made.store.close()


def answers(days, texts, since=JUNE):
    """Every answer to Wren, in the order of the texts, an hour apart."""
    said = []
    for hour, text in enumerate(texts):
        known = {message for to, message in days.outbox() if to == WREN}
        days.comes(since + hour * H, text, number=WREN)
        said.append([message for to, message in days.outbox() if to == WREN and message not in known])
    return said


def test_the_taps_are_dry_and_the_tank_is_what_its_float_says(days):
    """The event stands on the tank that feeds the house, whose state it does not change."""
    days.comes(JUNE, "LINE 1 BROKE 0717")
    days.comes(JUNE + H, "DRY", number=WREN)
    (event,) = days.events("ran-dry")
    assert event.tank == "house"
    with days.store.read() as reader:
        assert take_snapshot(reader, days.site, JUNE + H).tank("house").state == "ok"
        assert taps_dry(reader).by == "Wren"
    assert any(to == ROBIN and text.startswith("The taps are DRY, says Wren") for to, text in days.outbox())


def test_who_says_it_is_called_by_the_answer_and_the_low_tank_goes_with_it(days):
    """One message to whoever texted DRY, with how to take it; the tank that was low before is no second matter."""
    days.comes(JUNE, "LINE 1 MADE 0717")
    before = len(days.outbox())
    days.comes(JUNE + H, "DRY", number=WREN)
    told = days.outbox()[before:]
    (mine,) = [text for to, text in told if to == WREN]
    assert "1 of 5: Close the house valve." in mine and "Then NEXT. Reply OK if you see to it, else NO." in mine
    assert mine.endswith("Also: House tank LOW.")
    assert all(text.startswith("The taps are DRY, says Wren") for to, text in told if to != WREN)
    assert standing(days, JUNE + H) == [("ran-dry", "open")]


def test_next_walks_from_the_valve_through_the_taps_to_the_last_word(days):
    """The lowest first, each once, and the last one again and again; SAFE ends it with name and date."""
    said = answers(days, ["DRY", "NEXT", "next", "Next.", "NEXT", "SAFE"])
    shown = [" ".join(messages) for messages in said]
    assert "1 of 5: Close the house valve" in shown[0] and "local authority" in shown[0]
    assert (
        "2 of 5" in shown[1]
        and "3 of 5: Open the laundry tap" in shown[2]
        and "4 of 5: Open the kitchen tap" in shown[3]
    )
    assert "5 of 5" in shown[4] and "Then send SAFE" in shown[4] and "NEXT" not in shown[4]
    (safe,) = days.events("taps-safe")
    assert (safe.detail["who"], safe.at, safe.tank) == ("Wren", JUNE + 5 * H, "house")
    assert "the water is safe again" in shown[5]
    with days.store.read() as reader:
        assert taps_dry(reader) is None


@pytest.mark.parametrize(
    ("before", "text", "answer"),
    [
        ([], "NEXT", "Nobody has said that the taps are dry"),
        ([], "SAFE", "Nobody has said that the taps are dry"),
        ([], "DRY?", "no time can be reckoned"),
        (["LINE 1 MADE 0717"], "dry ?", "House tank: may run dry from"),
        (["DRY"], "Dry?", "The taps are dry, says Wren"),
    ],
)
def test_a_question_calls_nobody(days, before, text, answer):
    """It is answered to who asked, and nothing is stored."""
    for earlier in before:
        days.comes(JUNE, earlier, **({"number": WREN} if earlier == "DRY" else {}))
    told, dry = [to for to, _ in days.outbox()].count(ROBIN), len(days.events("ran-dry"))
    (messages,) = answers(days, [text])
    assert any(answer in message for message in messages), messages
    assert [to for to, _ in days.outbox()].count(ROBIN) == told and len(days.events("ran-dry")) == dry


PIPES = """[source]
pump = { kind = "steady", flow_l_min = 6 }
[[pipes]]
from = "source"
to = "spring"
inner_mm = 26
length_m = 300
fall_m = 12
[[pipes]]
from = "spring"
to = "house"
inner_mm = 26
length_m = 300
fall_m = 12
"""


def test_where_the_pipes_are_known_it_is_said_how_long_they_take_to_fill(days):
    """All on the way to the taps, by what the source gives; of a house without [[pipes]] nothing is said."""
    (_, (plain,)) = answers(days, ["DRY", "NEXT"])
    assert "fill slowly" in plain and "That takes" not in plain
    days.configure(rest=TAPS + PIPES)
    (_, (said,)) = answers(days, ["DRY", "NEXT"], JUNE + 40 * DAY)
    assert "the pipes fill slowly. That takes 53 min at least, and as long again until the air is out." in said


def test_a_second_report_does_not_begin_the_steps_anew(days):
    """Who is at the kitchen tap stays there."""
    answers(days, ["DRY", "NEXT", "NEXT"])
    days.comes(JUNE + 5 * H, "DRY", number=ROBIN)
    with days.store.read() as reader:
        assert taps_dry(reader).step == 2


def test_who_walks_fast_is_answered_at_every_step(days):
    """Six taps in nine minutes: each NEXT has its answer, though the same text that often sounds like a machine; the last step ends that."""
    bleed = days.settings.bleed.model_copy(update={"taps": ("laundry", "kitchen", "bath", "yard", "shed", "attic")})
    days.site = compile_site(days.settings.model_copy(update={"bleed": bleed}))
    days.says(JUNE, "DRY", number=WREN)
    steps = []
    for minute in range(1, 13):
        at = JUNE + timedelta(seconds=45 * minute)
        steps.append(sum(number == WREN for number, _ in days.says(at, "NEXT", number=WREN)))
    assert steps[:8] == [1] * 8 and steps[-1] == 0


def test_fewer_taps_in_a_new_configuration_lose_no_step(days):
    """The last one stays the last."""
    answers(days, ["DRY", "NEXT", "NEXT", "NEXT"])
    days.configure()
    assert "4 of 4" in " ".join(answers(days, ["NEXT"])[0])


def test_tanks_says_both_and_all_is_well_says_neither(days):
    """Dry taps and a tank whose float is idle: the house first, then the tank; a tank without a float is not watched, which is no matter."""
    days.configure(rest=f'{TAPS}[[tanks]]\nid = "pond"\nname = "Pond"\n')
    for text in ("LINE 1 BROKE 0717", "LINE 2 BROKE 0717"):
        days.comes(JUNE, text)
    with days.store.read() as reader:
        assert summary.well_now(reader, days.site, JUNE)
    days.comes(JUNE + H, "DRY", number=WREN)
    with days.store.read() as reader:
        line = summary.tanks_line(reader, days.site, JUNE + H, "mobile")
        assert not summary.well_now(reader, days.site, JUNE + H)
    assert line.startswith("Taps DRY 13:00 (Wren). ")
    assert "House tank ok." in line and "Pond not watched." in line


def pass_time(days, begin, end):
    """Whatever falls due between, at its time, as the daemon's loop does it. Returns the texts that left."""
    left, now = [], begin
    while now <= end:
        days.at(now, lambda unit: do_what_is_due(unit, verdicts=False))
        left += [text for _, text in days.leaves(now)]
        with days.store.read() as reader:
            due = next_due(reader, days.site, now, verdicts=False)
        now = max(due or end + H, now + timedelta(seconds=1))
    return left


def standing(days, now):
    """What stands: (kind, state)."""
    with days.store.read() as reader:
        return [
            (listed.alarm.kind, listed.alarm.state)
            for listed in alarms_listed(reader, days.site, now)
            if listed.alarm.tank
        ]


@pytest.mark.parametrize(
    ("rest", "lasts"), [("", 7 * DAY), ('[source]\npump = { kind = "steady", flow_l_min = 300 }\n', 2 * DAY)]
)
def test_dry_taps_of_which_nobody_says_that_they_are_safe_are_reckoned_over(days, rest, lasts):
    """No float was heard and nobody sends SAFE: by refill time, after two days at least, it is told as reckoned and stands as a question."""
    days.configure(rest=rest)
    days.comes(JUNE, "DRY", number=WREN)
    pass_time(days, JUNE, JUNE + lasts - H)
    assert standing(days, JUNE) == [("ran-dry", "open")] and not days.events("dry-over-reckoned")
    left = pass_time(days, JUNE + lasts - H, JUNE + 90 * DAY)
    (over,) = days.events("dry-over-reckoned")
    assert (over.at, over.tank, over.detail["lasted_s"]) == (JUNE + lasts, "house", lasts.total_seconds())
    assert standing(days, JUNE) == [("ran-dry", "reckoned-over")]
    assert len(left) == 2 and all(
        text.startswith("Dry taps since") and "Do not drink the water" in text for text in left
    )
    with days.store.read() as reader:
        assert taps_dry(reader) is None
        assert "Taps DRY" not in summary.tanks_line(reader, days.site, JUNE + 90 * DAY, "mobile")
        assert "Taps DRY? for 90 days" in summary.week_line(reader, days.site, JUNE + 90 * DAY, "mobile")
        assert not summary.well_now(reader, days.site, JUNE + 90 * DAY)
    days.comes(JUNE + 91 * DAY, "SAFE", number=WREN)
    assert standing(days, JUNE) == [] and len(days.events("taps-safe")) == 1


def test_they_are_not_over_while_the_tank_is_known_to_be_low(days):
    """Its float says so: the end is reckoned anew, until the float is heard to be idle."""
    days.comes(JUNE, "LINE 1 MADE 1")
    days.comes(JUNE + H, "DRY", number=WREN)
    pass_time(days, JUNE + H, JUNE + 20 * DAY)
    assert not days.events("dry-over-reckoned")
    days.comes(JUNE + 20 * DAY, "LINE 1 BROKE 2")
    pass_time(days, JUNE + 20 * DAY, JUNE + 23 * DAY)
    assert len(days.events("dry-over-reckoned")) == 1


def test_a_low_tank_after_dry_taps_is_an_alarm_of_its_own(days):
    """Also months after, whether or not anybody sent SAFE."""
    days.comes(JUNE, "DRY", number=WREN)
    days.comes(JUNE + 90 * DAY, "LINE 1 MADE 1")
    assert ("low", "open") in standing(days, JUNE)
    assert sum(text.startswith("House tank LOW since") for _, text in days.outbox()) == 2


@pytest.mark.parametrize(("later", "told", "step"), [(5 * H, 1, 1), (6 * H, 2, 0)])
def test_who_says_so_again_long_after_is_a_new_alarm(days, later, told, step):
    """After `again_after`: told again, and the steps begin anew."""
    answers(days, ["DRY", "NEXT"])
    days.comes(JUNE + later, "DRY", number=WREN)
    assert [to for to, text in days.outbox() if text.startswith("The taps are DRY")].count(ROBIN) == told
    with days.store.read() as reader:
        assert taps_dry(reader).step == step


def test_dry_taps_of_an_older_program_are_walked_through_and_ended(tmp_path):
    """Its store knows the alarm and no steps: TANKS, `DRY?`, NEXT and SAFE go on from there."""
    shutil.copy(SECOND, tmp_path / "gateway.db")
    with closing(sqlite3.connect(tmp_path / "gateway.db", isolation_level=None)) as connection:
        connection.execute(
            "INSERT INTO events SELECT 85, site, 'ran-dry', at, heard_at, known_at, 'house', NULL, NULL, 'DRY', ?, ? FROM events WHERE id = 60",
            (WREN, '{"who":"Wren"}'),
        )
        connection.execute(
            """UPDATE call_outs SET data = replace(data, '["low:spring","low",60]', '["low:house","ran-dry",85]') WHERE id = 20"""
        )
    days = Days(tmp_path, rest=TAPS)
    with days.store.read() as reader:
        assert "Taps DRY" in summary.tanks_line(reader, days.site, NOVEMBER, "mobile")
    said = [" ".join(messages) for messages in answers(days, ["DRY?", "NEXT", "NEXT", "SAFE", "NEXT"], NOVEMBER)]
    assert (
        "The taps are dry, says Wren" in said[0] and "2 of 5" in said[1] and "3 of 5: Open the laundry tap" in said[2]
    )
    assert "the water is safe again" in said[3] and "Nobody has said that the taps are dry" in said[4]
    assert "ran-dry" not in dict(standing(days, NOVEMBER)) and days.events("taps-safe")[0].detail["who"] == "Wren"
    days.store.close()


def test_a_reply_in_ukrainian_is_in_its_own_letters_and_two_segments(tmp_path):
    """Seventy letters a segment: one segment would cut what keeps from harm, or write it in Latin letters."""
    days = Days(tmp_path, rest=TAPS, language="uk")
    days.comes(JUNE, "СУХО?", number=WREN)
    ((_, text),) = days.outbox()
    assert "Якщо" in text and "СУХО" in text and measure_text(text).alphabet == "ucs2"
    assert measure_text(text).segments == 2 and not text.endswith("…")
    days.store.close()


def test_work_on_the_tank_hides_no_dry_taps(days):
    """Wren cleans the tank and Robin's tap runs dry: who works there was not told, nor was anybody warned of the water."""
    days.says(NOVEMBER, "WORK house 4h")
    told = days.says(NOVEMBER + timedelta(hours=1), "DRY", number=ROBIN)
    assert any(number == WREN and "taps are DRY" in text and "Do not drink" in text for number, text in told)


def test_dry_again_after_safe_is_told_however_soon(days):
    """Wren's last text said that the water is safe: minutes later Robin finds the taps dry again, and Wren must not drink."""
    days.says(JUNE, "DRY", number=WREN)
    days.says(JUNE + timedelta(minutes=1), "SAFE", number=ROBIN)
    told = [text for number, text in days.says(JUNE + timedelta(minutes=2), "DRY", number=ROBIN) if number == WREN]
    assert any("The taps are DRY" in text and "Do not drink" in text for text in told), told


def test_what_was_written_before_the_taps_ran_dry_makes_nothing_safe(days):
    """Robin's SAFE of another day lay in the network: everyone who had been told not to drink was told that the water is safe."""
    days.says(JUNE, "DRY")
    days.says(JUNE + 2 * H, "DRY")
    ((number, text),) = days.says(JUNE + 3 * H, "SAFE", number=ROBIN, at=JUNE + H)
    assert number == ROBIN and "came late and does nothing" in text
    assert standing(days, JUNE) == [("ran-dry", "open")]
    days.says(JUNE + 4 * H, "SAFE", number=ROBIN, at=JUNE + 3 * H)
    assert standing(days, JUNE) == []


@pytest.mark.parametrize(
    ("after_h", "answer"),
    [
        (1, "House tank: may run dry from 22:52. Likely Thu 10:48. If the taps"),
        (40, "House tank: may be dry already. Likely about"),
        (400, "House tank: may be dry already. If the taps"),
    ],
)
def test_what_is_asked_of_the_taps_is_answered_whenever_a_time_is_known(tmp_path, after_h, answer):
    """Also where the early edge or all of it has gone by: it was said that no time can be reckoned."""
    days = Days(tmp_path, controller='silence_after = "off"', rest="[limits]\nsegments = 3\n")
    days.comes(JUNE, "LINE 1 MADE 0717")
    days.leaves(JUNE)
    assert answer in days.says(JUNE + after_h * H, "DRY?")[-1][1]
    days.store.close()
