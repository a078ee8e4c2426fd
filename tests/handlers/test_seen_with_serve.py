"""What was seen when people lived with an older program, each as it must be now: nobody is woken for nothing, nothing is cut that keeps
people from harm, and what is told is what is known."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.gsm.segments import measure_text
from gateway.gsm.transliterate import transliterate
from gateway.phrases import languages, load_phrases
from gateway.site import compile_site
from gateway.status import summary
from gateway.status.forecast import forecast_of
from tests.handlers.test_alarms import passes
from tests.household import ROBIN, WREN

NIGHT = datetime(2026, 7, 6, 17, 30, tzinfo=UTC)
"""Half past three in the morning at home."""
M, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
CALLS = '[call_out]\ntake_within = "15m"\nremind_every = "20m"\n'
LONG_NAME = "House tank behind the old shearing shed"
DO_NOT_DRINK = {"de": "Nicht trinken", "en": "Do not drink", "es": "No beba", "uk": "Не пийте"}
ASLEEP = 'quiet = "22:00-06:30"\n'


def test_a_full_tank_wakes_no_landline(household):
    """It was rung at 03:30, 03:45 and 05:45: a full tank is for the record, at night and by day."""
    full = (
        '[[tanks]]\nid = "top"\nname = "Top tank"\nfloats = [ { controller = "ridge", input = 3, means = "high" } ]\n'
    )
    days = household(robin='line = "landline"\nturn = 2', rest=full + CALLS)
    days.comes(NIGHT, "LINE 3 MADE 1")
    assert [event.kind for event in days.events("high")] == ["high"]
    assert passes(days, NIGHT, NIGHT + DAY, step=2 * H) == []


def test_a_box_that_loses_power_battery_and_voice_is_one_matter(household):
    """There were 72 messages a day: now each of those who look after boxes hears of each thing once, and nobody at night."""
    days = household(
        robin=f'about = ["controllers"]\n{ASLEEP}', wren=ASLEEP, controller='silence_after = "26h"', rest=CALLS
    )
    days.network(NIGHT)
    for text in ("LINE 1 BROKE 0", "LINE 2 BROKE 0", "MAINS GONE", "SUPPLY 11.6 V"):
        days.comes(NIGHT, text)
    left, now = [], NIGHT
    while now < NIGHT + 3 * DAY:
        days.judge(now)
        left += passes(days, now, now)
        now += 3 * H
    assert {event.kind for event in days.events("power-lost", "battery-low", "silent")} == {
        "power-lost", "battery-low", "silent"
    }  # fmt: skip
    assert 1 <= len([text for _, number, text in left if number == WREN]) <= 3
    assert all(6 * 60 + 30 <= local.hour * 60 + local.minute < 22 * 60 for local in
               (at.astimezone(days.site.zone) for at, _, _ in left))  # fmt: skip


@pytest.mark.parametrize("language", languages())
def test_how_to_answer_is_never_cut(household, language):
    """It was cut from the first low message in every language, with a long name too; and what keeps people from harm after dry taps."""
    days = household(language=language, robin='about = ["tanks"]')
    house = days.settings.tanks[1].model_copy(update={"name": LONG_NAME})
    days.site = compile_site(days.settings.model_copy(update={"tanks": (days.settings.tanks[0], house)}))
    days.comes(NIGHT, "LINE 1 BROKE 0")
    days.comes(NIGHT + M, "LINE 1 MADE 1")
    book = load_phrases(language)
    low = days.leaves(NIGHT + M)
    assert {number for number, _ in low} == {WREN, ROBIN}
    assert all(
        LONG_NAME in text and transliterate(book.sentence("mobile", "take")) in transliterate(text) for _, text in low
    )
    days.comes(NIGHT + H, book.order_words()["dry"][0], number=WREN)
    (dry,) = [text for number, text in days.leaves(NIGHT + H) if number == ROBIN]
    assert transliterate(DO_NOT_DRINK[language]) in transliterate(dry) and measure_text(dry).segments > 1


def test_what_was_heard_weeks_ago_is_not_told_as_if_it_were_so(household):
    """A box that only texts when a contact closes: on 21 July TANKS said LOW 7 Jul."""
    days = household(idle="", controller='silence_after = "off"')
    days.comes(NIGHT, "LINE 1 MADE 1")
    with days.store.read() as reader:
        assert "House tank LOW" in summary.tanks_line(reader, days.site, NIGHT + H, "mobile")
    passes(days, NIGHT, NIGHT + 14 * DAY, step=DAY)
    with days.store.read() as reader:
        line = summary.tanks_line(reader, days.site, NIGHT + 14 * DAY, "mobile")
    assert "LOW" not in line and "House tank unknown" in line


def test_the_message_has_the_early_edge_of_the_same_forecast(household):
    """It said "Dry about 19:34" where the page said 06:30 to the next day."""
    days = household()
    days.comes(NIGHT, "LINE 1 BROKE 0")
    days.comes(NIGHT + M, "LINE 1 MADE 1")
    with days.store.read() as reader:
        early, likely, _ = forecast_of(reader, days.site, "house", NIGHT + M).dry_at
    told = days.leaves(NIGHT + M)[0][1]
    shown = [days.site.phrases.format_time(at, NIGHT + M, days.site.zone) for at in (early, likely)]
    assert f"May run dry from {shown[0]}, likely {shown[1]}." in told


def test_after_an_ok_something_is_said_until_it_is_over(household):
    """OK at 03:06, dry at 19:31, three days of dry taps, and no text between: it comes back, and there is a call before it is dry."""
    days = household(robin="turn = 2", rest=CALLS)
    days.comes(NIGHT, "LINE 1 BROKE 0")
    days.comes(NIGHT + M, "LINE 1 MADE 1")
    days.leaves(NIGHT + M)
    days.comes(NIGHT + 2 * M, "OK", number=WREN)
    days.leaves(NIGHT + 2 * M)
    texts = [text for _, _, text in passes(days, NIGHT + 2 * M, NIGHT + DAY, step=H)]
    assert any("You have it, and it is not over" in text for text in texts)
    assert any("the taps may be dry from" in text for text in texts)
