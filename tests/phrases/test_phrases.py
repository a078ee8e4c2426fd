"""Messages fit their segments whatever the names are; every language says everything; unknown values leave no hole."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.gsm.segments import measure
from gateway.phrases import languages, load_phrases

NOW = datetime(2026, 11, 25, 3, 5, tzinfo=UTC)
SYDNEY = ZoneInfo("Australia/Sydney")


@pytest.mark.parametrize("language", languages())
def test_every_message_of_every_language_fits_one_segment(language):
    """With long names in another alphabet each message is one segment of the GSM alphabet."""
    book = load_phrases(language)
    values = dict.fromkeys(
        ("tank", "controller", "since", "dry", "full", "cause", "advice", "take", "lasted", "who", "tanks", "level", "raw",
         "why", "count", "state", "was", "now", "number", "lasts", "from", "limit", "until", "matters", "list", "name", "site"),
        "Überlauf-Hochbehälter № 7 am Čertův kámen",
    )  # fmt: skip
    for key in book.data["said"]:
        said = book.say(key, values)
        assert measure(said).segments == 1, (key, said)
        assert book.own_alphabet or measure(said).alphabet == "gsm7", (key, said)


@given(st.text(min_size=1, max_size=80), st.integers(1, 3))
def test_any_name_fits(name, segments):
    """Whatever a tank is called, the message keeps within its segments."""
    said = load_phrases("en").say("low", {"tank": name, "since": "07:17"}, segments=segments)
    assert measure(said).segments <= segments


def test_what_is_not_known_leaves_no_hole():
    """A piece whose value is unknown is left out, and the order is by weight."""
    book = load_phrases("en")
    assert book.say("low", {"tank": "House tank", "since": "07:17"}) == "House tank is LOW since 07:17."
    said = book.say("low", {"tank": "House tank", "since": "07:17", "dry": "19:40", "advice": "Look at the intake."})
    assert said == "House tank is LOW since 07:17. Dry about 19:40. Look at the intake."


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (NOW - timedelta(hours=2), "12:05"),
        (NOW - timedelta(days=1), "Tue 14:05"),
        (NOW - timedelta(days=20), "5 Nov 14:05"),
        (NOW - timedelta(days=400), "21 Oct 2025 14:05"),
    ],
)
def test_times_are_local_and_no_longer_than_needed(at, said):
    """Today the hour, this week the day, else the date."""
    assert load_phrases("en").time(at, NOW, SYDNEY) == said


@pytest.mark.parametrize(
    ("length", "said"),
    [
        (timedelta(seconds=1), "1 second"),
        (timedelta(seconds=95), "95 seconds"),
        (timedelta(minutes=90), "90 min"),
        (timedelta(hours=5), "5 h"),
        (timedelta(days=3), "3 days"),
    ],
)
def test_spans(length, said):
    """The largest unit that says it well."""
    assert load_phrases("en").span(length) == said


@pytest.mark.parametrize("language", languages())
def test_no_language_lacks_a_word(language):
    """Every word a contact may text has at least one form in every language."""
    assert set(load_phrases(language).words()) == set(load_phrases("en").words())
