"""What stands is said first, with its age and who has it: in TANKS, in the week's report, on the page; and all is well when nothing does."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers import due
from gateway.page import make_page
from gateway.page.alarm_month_lines import alarm_month_lines
from gateway.page.verdict_words import verdict_words
from gateway.phrases import load_phrases, with_page_words
from gateway.status import summary
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import standing_alarms
from gateway.status.taps_verdict import taps_verdict
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

NOW, H, DAY = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def days(tmp_path):
    """A household whose week is told to Wren, and a pond that nothing watches."""
    rest = '[digest]\nday = "sunday"\ncontacts = ["wren"]\n[[tanks]]\nid = "pond"\nname = "Pond"\n'
    made = Days(tmp_path, rest=rest)
    yield made
    made.store.close()


def tanks_line(days, now, line="mobile"):
    """What TANKS answers."""
    with days.store.read() as reader:
        return summary.tanks_line(reader, days.site, now, line)


def week(days, now):
    """The week's report to Wren."""
    before = len(days.outbox())
    days.at(now, due.send_weekly)
    assert len(days.outbox()) == before + 1
    return next(text for number, text in reversed(days.outbox()) if number == WREN)


def test_what_stands_comes_first_with_age_and_taker(days):
    """Spring stands before the house tank in the file; the low one comes first, then what is well and what is not watched."""
    for text in ("LINE 2 BROKE 0717", "LINE 1 MADE 0717"):
        days.comes(NOW, text)
    assert tanks_line(days, NOW + 3 * H).startswith("House tank LOW 12:00 (3 h). ")
    days.leaves(NOW)
    days.comes(NOW + H, "OK", number=ROBIN)
    line = tanks_line(days, NOW + 3 * H)
    assert (
        line.startswith("House tank LOW 12:00 (3 h, Robin). ")
        and "Spring tank ok." in line
        and "Pond not watched." in line
    )
    assert "House tank low, noon, 3 hours, Robin." in tanks_line(days, NOW + 3 * H, "landline")


def test_a_box_without_power_says_since_when(days):
    """Beside when it was heard last."""
    days.comes(NOW, "MAINS GONE")
    assert "without power (5 h)" in tanks_line(days, NOW + 5 * H)


def test_the_second_week_of_a_matter_is_no_week_in_which_nothing_happened(days):
    """It began before these seven days, and stands first."""
    days.comes(NOW, "LINE 1 MADE 0717")
    days.comes(NOW + 13 * DAY, "STATION WELL 1")
    said = week(days, NOW + 13 * DAY + H)
    assert said.startswith("NOT WELL. These seven days: House tank LOW for 13 days") and "nothing happened" not in said


def test_all_is_well_when_nothing_stands(days):
    """A tank without a float is no matter."""
    for text in ("LINE 1 BROKE 0717", "LINE 2 BROKE 0717"):
        days.comes(NOW, text)
    assert week(days, NOW + H).startswith("All is well, these seven days")


def test_dry_taps_lead_the_page_with_the_steps_that_are_left(days):
    """Before low tanks; from the step that is next to the last one."""
    days.comes(NOW, "LINE 1 MADE 0717")
    for text in ("DRY", "NEXT"):
        days.comes(NOW + H, text, number=WREN)
    site = replace(days.site, phrases=with_page_words(load_phrases("en")))
    with days.store.read() as reader:
        standing = site_standing(reader, site, NOW + 2 * H)
        alarms = standing_alarms(reader, standing)
        words = verdict_words(reader, standing, taps_verdict(reader, standing, alarms), alarms)
    assert words.sentence == "The taps are DRY since 13:00, says Wren." and not words.is_well
    assert words.todo[0].startswith("2 of 4:") and "local authority" in words.todo[-1] and len(words.todo) == 3


def test_the_page_has_the_months_figures(days):
    """One sentence for the month in which something rang, with the median until an OK."""
    days.comes(NOW, "LINE 1 MADE 0717")
    days.leaves(NOW)
    days.comes(NOW + H, "OK", number=ROBIN)
    with days.store.read() as reader:
        html = make_page(reader, days.site, NOW + 2 * H)
        site = replace(days.site, phrases=with_page_words(load_phrases("en")))
        (line,) = alarm_month_lines(reader, site, NOW + 2 * H)
    assert line.startswith(
        "Jun 2026: 1 alarm (1 a week), 0 at night, 0 that nobody took; half the OKs came within 60 min; "
    )
    assert line.endswith("Most often: House tank LOW 1.") and "Alarms by month" in html and line in html


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("de", ("House tank NIEDRIG 12:00 (3 h).", "Spring tank in Ordnung.", "Ridge box meldete sich 12:00.")),
        ("es", ("House tank - nivel BAJO 12:00 (3 h).", "Spring tank - bien.", "Ridge box - con noticias 12:00.")),
        ("uk", ("House tank - МАЛО води 12:00 (3 год).", "Spring tank - норма.", "Ridge box - на зв'язку 12:00.")),
    ],
)
def test_in_other_languages_a_name_and_its_state_fit_whatever_the_names_gender(tmp_path, language, said):
    """Where a state would have to agree with the name, it stands behind a dash."""
    days = Days(tmp_path, language=language)
    for text in ("LINE 2 BROKE 0717", "LINE 1 MADE 0717"):
        days.comes(NOW, text)
    line = tanks_line(days, NOW + 3 * H)
    days.store.close()
    assert [words for words in said if words not in line] == [], line
