"""The weekly message: "all is well" only where it is. When it is sent: `tests/service/test_calendar_jobs.py`."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from gateway.gsm.segments import measure_text
from gateway.handlers.due import send_weekly
from gateway.handlers.gateway_health import begin_trouble
from gateway.phrases import languages, load_phrases
from gateway.status.gateway_troubles import LASTING
from tests.handlers.days import Days
from tests.household import RIDGE, WREN

SUNDAY = datetime(2026, 7, 5, 8, 0, tzinfo=UTC)
"""18:00 in Sydney."""
H, DAY = timedelta(hours=1), timedelta(days=1)
DIGEST = '[digest]\nday = "sunday"\ntime = "18:00"\ncontacts = ["wren"]\n'


@pytest.fixture
def days(tmp_path):
    """A household whose tanks are known to be well."""
    made = Days(tmp_path, rest=DIGEST)
    for number in (1, 2):
        made.comes(SUNDAY - H, f"LINE {number} BROKE 0717")
    yield made
    made.store.close()


WELL = "All is well, these seven days: nothing happened. A Sunday without this message means that the gateway is dead."


def told(days, now):
    """What the weekly message says at that time."""
    before = len(days.outbox())
    days.at(now, send_weekly)
    return [text for _, text in days.outbox()[before:]]


def test_all_is_well(days):
    """Each week in which nothing happened."""
    assert told(days, SUNDAY) == [WELL]
    for number in range(1, 8):
        days.comes(SUNDAY + number * DAY - H, f"STATION WELL {number}")
    assert told(days, SUNDAY + 7 * DAY) == [WELL]


@pytest.mark.parametrize("kind", LASTING)
def test_a_trouble_of_the_gateway_is_no_all_is_well(days, kind):
    """Whatever lasts stands first in the message; once it is over, all is well again."""
    days.at(SUNDAY - H, lambda unit: begin_trouble(unit, kind, {}))
    (weekly,) = told(days, SUNDAY)
    label = load_phrases("en").label(kind)
    assert (
        label != kind and weekly.startswith(f"NOT WELL. These seven days: the gateway: {label}.") and len(weekly) <= 160
    )


@pytest.mark.parametrize("language", languages())
def test_a_voice_says_the_week_in_words(tmp_path, language):
    """A landline hears sentences: no colon, no stroke, no capitals, no code of a currency; the mobile reads the short form."""
    tables = DIGEST.replace('"wren"', '"wren", "robin"') + "[limits]\nsegments = 3\nprice_per_segment = 0.12\n"
    days = Days(tmp_path, rest=tables, robin='line = "landline"', language=language)
    for number, state in ((1, "MADE"), (2, "BROKE")):
        days.comes(SUNDAY - H, f"LINE {number} {state} 0717")
    days.at(SUNDAY - H, lambda unit: begin_trouble(unit, "disk-low", {}))
    read, heard = told(days, SUNDAY)
    days.store.close()
    assert re.search(r"0[.,]00 EUR", read) and ":" in read
    assert "House tank" in heard and not re.search(r"[:;/()]|EUR|\b[^\W\d_a-zа-яіїєґäöüßáéíóúñ]{2,}\b", heard), heard


def segments_of(left):
    """How many segments left."""
    return sum(measure_text(text).segments for _, text in left)


def test_what_the_texts_cost_is_told(tmp_path):
    """This month's segments at the price of one, and what a year would cost at the rate of the last thirty days."""
    days = Days(tmp_path, rest=DIGEST + "[limits]\nsegments = 3\nprice_per_segment = 0.12\n")
    in_june = segments_of(days.says(SUNDAY - 10 * DAY, "LINE 2 MADE 0717", number=RIDGE))
    segments = segments_of(days.says(SUNDAY - H, "LINE 1 MADE 0717", number=RIDGE))
    (weekly,) = told(days, SUNDAY)
    days.store.close()
    year = (in_june + segments) * 0.12 * 365.25 / 30
    assert in_june > 0 < segments and f"{segments * 0.12:.2f} EUR" in weekly and f"{year:.2f} EUR" in weekly, weekly


def test_a_week_tells_dry_taps_and_lost_power(days):
    """What weighs most stands first, and that nothing happened is said only where nothing did."""
    for text in ("MAINS GONE", "MAINS BACK", "LINE 1 MADE 0717", "LINE 1 BROKE 0717"):
        days.comes(SUNDAY - H, text)
    days.comes(SUNDAY - H, "DRY", number=WREN)
    assert told(days, SUNDAY) == [
        "NOT WELL. These seven days: Taps DRY for 60 min; taps dry 1 time; House tank low 1 time; Ridge box without power 1 time. "
        "TANKS tells how all stands."
    ]


def test_a_silent_controller_is_no_all_is_well(days):
    """Heard a week ago, its tanks are unknown."""
    assert told(days, SUNDAY + 7 * DAY)[0].startswith("NOT WELL. These seven days:")


@pytest.mark.parametrize("language", languages())
def test_every_trouble_has_a_word_in_every_language(language):
    """None is shown by its key."""
    assert all(kind in load_phrases(language).data["label"] for kind in LASTING)
