"""A box by its own rhythm, day by day: how long it may be silent, when it is asked, and that it is told when its texts get rarer."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.commands import record_notes
from gateway.commands.record_findings import record_findings
from gateway.handlers.due import send_weekly
from gateway.settings.load import load
from gateway.status.silence import limit_of, verdict_of
from gateway.status.site_standing import site_standing
from gateway.status.standing_alarms import standing_alarms
from tests.handlers.days import Days

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)
DIGEST = '[digest]\nday = "sunday"\ncontacts = ["wren"]\n'
AUTO = 'silence_after = "auto"\n'
ASKED = 'silence_after = "auto"\nask = { text = "REPORT" }\n'


@pytest.fixture
def make(tmp_path):
    """The household whose box is watched as the test says."""
    made = []

    def watched(controller):
        days = Days(tmp_path, controller=controller)
        days.judge(JULY)
        made.append(days)
        return days

    yield watched
    made[0].store.close()


def verdict(days, now):
    with days.store.read() as reader:
        return verdict_of(reader, days.site.settings.controllers[0], now)


def finding(days, now):
    with days.store.read() as reader:
        return next(found for found in record_findings(days.site, reader, now) if found.what.startswith("texts of"))


def test_a_daily_box_that_can_be_asked_is_asked_twice_within_the_25_hours(make):
    """Half an hour after its text was due, again a quarter before the end; then it is silent."""
    days = make(ASKED)
    for day in range(6):
        days.comes(JULY + day * DAY)
    last = JULY + 5 * DAY
    assert not verdict(days, last + 24.4 * H).ask_now
    for after in (24.5, 24.75):
        assert verdict(days, last + after * H).ask_now
        days.judge(last + after * H)
        assert not verdict(days, last + after * H).ask_now
    assert verdict(days, last + 25 * H).state == "heard"
    assert verdict(days, last + 25.01 * H).state == "silent"


def test_what_it_answered_hides_no_lost_text(make):
    """Two of forty daily texts are lost and the box answers when it is asked: two are lost all the same."""
    days = make(ASKED)
    for day in range(40):
        if day not in (20, 31):
            days.comes(JULY + day * DAY)
        else:
            days.judge(JULY + day * DAY + 0.5 * H)
            days.comes(JULY + day * DAY + 0.52 * H)
    assert not days.events("silent")
    assert len(days.events("errand-ordered")) == 2
    assert "4% of those due do not come" in finding(days, JULY + 40 * DAY).text


def test_rarer_texts_are_told_once_with_what_is_known(make):
    """A box that never lost one loses half of them: one message, `doctor` says it, and it is not said again as it goes on."""
    days = make('silence_after = "5d"\n')
    for day in range(40):
        days.comes(JULY + day * DAY)
    assert finding(days, JULY + 40 * DAY).right
    for day in (41, 43, 44, 47, 48, 50, 53, 54, 56, 59, 60, 62, 65, 68):
        days.comes(JULY + day * DAY)
    (rarer,) = days.events("texts-rarer")
    assert 4 <= rarer.detail["count"] <= 6 and rarer.detail["count"] < rarer.detail["of"] <= 12
    told = [text for _, text in days.outbox() if "did not come" in text]
    assert len(told) == 1 and f"{rarer.detail['count']} of {rarer.detail['of']} texts due since" in told[0]
    found = finding(days, JULY + 70 * DAY)
    assert not found.right and "aerial" in found.remedy


def test_rarer_texts_stand_until_they_come_again(make):
    """TANKS, the week and the page name it with its age while it holds, whoever took it; its end is on record and told, once."""
    days = make('silence_after = "5d"\n')
    days.configure(controller='silence_after = "5d"\n', rest=DIGEST)
    for day in [*range(40), 41, 43, 44, 47, 48, 50, 53, 54, 56, 59, 60]:
        days.comes(JULY + day * DAY)
    (rarer,) = days.events("texts-rarer")
    told = [number for number, text in days.leaves(JULY + 60 * DAY) if "did not come" in text]
    now = JULY + 60 * DAY + H
    with days.store.read() as reader:
        shown = standing_alarms(reader, site_standing(reader, days.site, now))
        stands = next(matter for matter in shown if matter.kind == "texts-rarer")
        assert (stands.controller, stands.since, stands.told) == ("ridge", rarer.at, ("wren",))
    (tanks,) = [text for _, text in days.says(now, "TANKS")]
    assert tanks.startswith("Ridge box heard 12:00 texts stay away (10 days).")
    days.at(now, send_weekly)
    assert any("Ridge box texts stay away for 10 days" in text for _, text in days.leaves(now))
    for day in range(61, 110):
        days.comes(JULY + day * DAY)
    (regular,) = days.events("texts-regular")
    assert regular.detail["lasted_s"] == (regular.at - rarer.at).total_seconds() > 0
    with days.store.read() as reader:
        shown = standing_alarms(reader, site_standing(reader, days.site, JULY + 110 * DAY))
        assert "texts-rarer" not in {matter.kind for matter in shown}
    left = days.leaves(JULY + 110 * DAY)
    assert told and told == [number for number, text in left if "come again as they used to" in text]
    assert len(days.events("texts-rarer")) == 1


def test_check_says_what_25_hours_would_cost(make, tmp_path):
    """Of a box that cannot be asked and whose limit is longer, by what is on record; nothing of one that is held to 25 hours."""
    days = make(AUTO)
    for day in range(60):
        if day not in (10, 20, 30):
            days.comes(JULY + day * DAY)
    notes = list(record_notes.record_notes(days.settings, str(tmp_path / "gateway.toml")))
    (note,) = [note for note in notes if "EN 50136" in str(note)]
    assert "silent after 73.5 h: 25 h (EN 50136-1) would call it silent about 16.4 times a year" in str(note)
    with days.store.read() as reader:
        assert limit_of(reader, days.site.settings.controllers[0]) == 73.5 * H
    days.configure(controller=ASKED)
    settings = load(str(tmp_path / "gateway.toml")).settings
    assert not [note for note in record_notes.record_notes(settings, str(tmp_path / "gateway.toml"))]
