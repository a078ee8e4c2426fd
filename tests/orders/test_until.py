"""Until when, as a contact writes it: nothing is guessed, and what is past is none."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from gateway.orders import moment_of, split_until
from gateway.phrases import load_phrases

SYDNEY = ZoneInfo("Australia/Sydney")
WEDNESDAY = datetime(2026, 11, 25, 14, 5, tzinfo=SYDNEY)


@pytest.mark.parametrize(
    ("said", "parts"),
    [
        ("robin until sunday 18:00", ("robin", "sunday 18:00")),
        ("Robin  Till: Sunday", ("Robin", "Sunday")),
        ("robin", ("robin", None)),
        ("until sunday", ("", "sunday")),
        ("robin until", ("robin", "")),
        ("", ("", None)),
        ("until until sunday", ("", "until sunday")),
    ],
)
def test_what_stands_before_and_behind_the_word(said, parts):
    """Its first place counts."""
    assert split_until(said, load_phrases("en").until_words()) == parts


@pytest.mark.parametrize(
    ("said", "at"),
    [
        ("sunday 18:00", "2026-11-29T18:00"),
        ("Sunday, 18.00", "2026-11-29T18:00"),
        ("sunday", "2026-11-29T23:59"),
        ("on the sunday at 9", "2026-11-29T09:00"),
        ("wednesday 18:00", "2026-11-25T18:00"),
        ("wed", "2026-11-25T23:59"),
        ("wednesday 14:05", "2026-12-02T14:05"),
        ("tuesday", "2026-12-01T23:59"),
        ("today", "2026-11-25T23:59"),
        ("tomorrow 7:30", "2026-11-26T07:30"),
        ("18:00", "2026-11-25T18:00"),
        ("14:00", "2026-11-26T14:00"),
        ("2026-12-06", "2026-12-06T23:59"),
        ("2026-12-06T18:00", "2026-12-06T18:00"),
        ("2026-12-06 18:00", "2026-12-06T18:00"),
        ("3d", "2026-11-28T14:05"),
        ("1d 2h", "2026-11-26T16:05"),
        ("today 13:00", None),
        ("2026-11-24", None),
        ("2026-13-41", None),
        ("2027-11-27", None),
        ("2027-11-26 14:05", "2027-11-26T14:05"),
        ("366d", "2027-11-26T14:05"),
        ("99999999w", None),
        ("0h", None),
        ("someday", None),
        ("someday 18:00", None),
        ("sunday 25:00", None),
        ("sunday 18:60", None),
        ("sunday 18:00 please", None),
        ("18:00 sunday", None),
        ("", None),
        ("the", None),
    ],
)
def test_moments(said, at):
    """The next that is meant, seen from a Wednesday afternoon."""
    expected = datetime.fromisoformat(at).replace(tzinfo=SYDNEY) if at else None
    assert moment_of(said, load_phrases("en").until_words(), WEDNESDAY) == expected


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("de", "robin bis zum Sonntag um 18 Uhr"),
        ("de", "robin bis so 18:00"),
        ("es", "robin hasta el domingo a las 18:00"),
        ("uk", "robin до неділі о 18:00"),
    ],
)
def test_in_the_households_language(language, said):
    """As it is said there."""
    words = load_phrases(language).until_words()
    name, ends = split_until(said, words)
    assert (name, moment_of(ends, words, WEDNESDAY)) == ("robin", datetime(2026, 11, 29, 18, 0, tzinfo=SYDNEY))


@pytest.mark.parametrize("language", ["en", "de", "es", "uk"])
def test_every_day_has_a_name(language):
    """Each weekday is the next one that is called so, and no name means two days."""
    words = load_phrases(language).until_words()
    days = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
    for number, day in enumerate(days):
        for name in words[day]:
            at = moment_of(name, words, WEDNESDAY)
            assert at.weekday() == number and (at.date() - WEDNESDAY.date()).days < 7
    assert moment_of(words["tomorrow"][0], words, WEDNESDAY).day == 26
