"""A box falls silent while a tank is low: the forecast goes on from what it told last, less surely with each hour, and says so everywhere."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.due import do_what_is_due
from gateway.handlers.reminders import send_reminders
from gateway.page.verdict_words import verdict_words
from gateway.phrases import with_page_words
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import standing_alarms
from gateway.status.tank_documents import tank_document
from gateway.status.taps_verdict import taps_verdict
from tests.handlers.days import Days
from tests.household import WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
"""A Wednesday; noon in Sydney."""
MIN, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SILENT = NOON + 26 * H + MIN
QUESTION = "Does water run into House tank? Reply FLOWS or STOPPED."


@pytest.fixture
def days(tmp_path):
    """A household whose messages have room."""
    made = Days(tmp_path, rest="[limits]\nsegments = 3\n")
    made.judge(NOON - 10 * DAY)
    yield made
    made.store.close()


def standing(days, now):
    """The site as it stands then."""
    with days.store.read() as reader:
        return site_standing(reader, days.site, now)


def house(days, now):
    """The house tank's forecast."""
    return standing(days, now).forecasts["house"]


def said_of(days, now, text):
    """What is answered."""
    days.leaves(now)
    days.comes(now, text, number=WREN)
    return " ".join(left[1] for left in days.leaves(now) if left[0] == WREN)


def test_the_forecast_outlives_the_box(days):
    """Also for the tank below that was well; that it is not dry by now is not taken for granted."""
    days.comes(NOON - 9 * DAY, "LINE 1 BROKE 0717")
    days.comes(NOON + MIN, "LINE 2 MADE 0717")
    last = house(days, NOON + H)
    assert last.heard_until is None and last.dry_at is not None
    unheard = [house(days, SILENT + hours * H) for hours in (0, 24, 72)]
    assert all(of_then.heard_until == NOON + MIN and of_then.litres is None for of_then in unheard)
    earlies, _, lates = zip(*(of_then.dry_at for of_then in unheard), strict=True)
    assert earlies[2] < SILENT + 72 * H and lates[0] < lates[1] < lates[2]


def test_it_is_said_wherever_somebody_may_look(days):
    """The message of the silence, what is told again of the low tank, TANKS, the document and the page's first sentence."""
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)
    days.at(SILENT, lambda unit: do_what_is_due(unit, verdicts=True))
    silence = next(text for number, text in days.leaves(SILENT) if number == WREN and "SILENT" in text)
    assert silence.startswith("Ridge box SILENT: no word since Wed 12:00. House tank may be dry already.")
    tanks = said_of(days, SILENT + MIN, "TANKS")
    assert "House tank unknown (not heard since Wed 12:00, may be dry since " in tanks
    now = standing(days, SILENT + MIN)
    document = tank_document(now, now.snapshot.tank("house"))
    assert document["state"] == "unknown" and len(document["dry_at"]) == 3
    assert document["cause"]["because"].startswith(
        "House tank was low since Wed 12:00 and not heard of since Wed 12:00."
    )
    site = replace(days.site, phrases=with_page_words(days.site.phrases))
    with days.store.read() as reader:
        alarms = standing_alarms(reader, now)
        page = site_standing(reader, site, SILENT + MIN)
        words = verdict_words(reader, page, taps_verdict(reader, page, alarms), alarms)
    assert words.sentence.startswith(
        "House tank was not heard of since Wed 12:00; as it went then, the taps may be dry since "
    )


def test_what_is_told_again_of_a_low_tank_says_that_nobody_hears_of_it(days):
    """Else it would read as news of now."""
    days.configure(controller='silence_after = "2h"', rest='[limits]\nsegments = 3\n[call_out]\nremind_every = "1h"\n')
    days.comes(NOON, "LINE 1 MADE 0717")
    days.leaves(NOON)
    told_again = NOON + 3 * H
    days.at(told_again, send_reminders)
    (text,) = [text for number, text in days.leaves(told_again) if number == WREN]
    assert "Not heard since 12:00. May run dry from " in text


def test_tanks_asks_its_one_question_where_the_news_had_no_room_for_it(tmp_path):
    """Once while the tank is low, and not where the news asked it."""
    tight = Days(tmp_path / "tight") if (tmp_path / "tight").mkdir() is None else None
    assert tight is not None
    tight.comes(NOON, "LINE 1 MADE 0717")
    assert not any(QUESTION in text for _, text in tight.leaves(NOON))
    assert QUESTION in said_of(tight, NOON + MIN, "TANKS")
    assert QUESTION not in said_of(tight, NOON + 2 * MIN, "TANKS")
    tight.store.close()


def test_tanks_asks_nothing_that_the_news_asked(days):
    """At most one question while the tank is low; another spell asks anew."""
    days.comes(NOON, "LINE 1 MADE 0717")
    assert QUESTION not in said_of(days, NOON + MIN, "TANKS")
    days.comes(NOON + 2 * H, "LINE 1 BROKE 0717")
    assert QUESTION not in said_of(days, NOON + 3 * H, "TANKS")
