"""Kinds that only this household makes urgent call out like any other: whoever is called is told how to answer, and an answer takes it."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.event_followers import record_event
from gateway.phrases import languages, load_phrases
from gateway.phrases.cut_to_segments import in_its_letters
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

NIGHT = datetime(2026, 7, 6, 17, 30, tzinfo=UTC)
M = timedelta(minutes=1)
EVENTS = {
    "battery-high": ({"volts": 15.6}, {"controller": "ridge"}),
    "float-fault": ({"count": 12}, {"tank": "house", "controller": "ridge", "input": "1"}),
    "gauge-fault": ({"why": "stuck"}, {"tank": "house", "controller": "ridge", "input": "7"}),
    "gauge-differs": (
        {"level_m": 1.13, "float_m": 0.45, "float_says": "low"},
        {"tank": "house", "controller": "ridge"},
    ),
    "night-flow": ({"flow_l_h": 40}, {"tank": "house"}),
    "credit-low": ({"amount": "1.80 AUD"}, {}),
}
"""Kind → what it carries, and what it is about; of each subject, as they come from the record."""
URGENT = "".join(f'[alarms.{kind}]\npriority = "urgent"\n' for kind in EVENTS)
ALL = 'about = ["tanks", "controllers", "gateway"]\n'


@pytest.mark.parametrize("language", languages())
def test_whoever_is_called_is_told_how_to_answer(tmp_path, language):
    """A phone to reply, at night too; a voice on a landline to ring somebody by name; one OK takes all of it."""
    days = Days(
        tmp_path, language=language, wren='quiet = "22:00-06:30"', robin=f'{ALL}line = "landline"', rest=URGENT
    )  # fmt: skip
    book = load_phrases(language)
    ring = (book.sentence("landline", "ring") or "").format(who="Wren")
    asks = {WREN: in_its_letters(book.sentence("mobile", "take") or "", days.site.phrases.letters), ROBIN: ring}
    told = []
    for minutes, (kind, (detail, about)) in enumerate(EVENTS.items()):
        now = NIGHT + 11 * minutes * M
        days.at(
            now,
            lambda unit, event=(kind, detail, about): record_event(unit, unit.event(event[0], event[1], **event[2])),
        )
        told += [(kind, number, text) for number, text in days.leaves(now)]
    assert {(kind, number) for kind, number, _ in told} == {(kind, number) for kind in EVENTS for number in asks}
    for kind, number, text in told:
        assert asks[number] in text, kind
    days.comes(NIGHT + 70 * M, "OK", number=WREN)
    with days.store.read() as reader:
        assert {alarm.kind: alarm.taken_by for alarm in reader.alarms()} == dict.fromkeys(EVENTS, "wren")
    days.store.close()


def test_what_calls_nobody_out_asks_for_no_answer(tmp_path):
    """The same kinds as they are by themselves."""
    days = Days(tmp_path, robin=ALL)
    for kind, (detail, about) in EVENTS.items():
        days.at(
            NIGHT,
            lambda unit, event=(kind, detail, about): record_event(unit, unit.event(event[0], event[1], **event[2])),
        )
    assert len(days.outbox()) == 2 * len(EVENTS) and not [text for _, text in days.outbox() if "Reply OK" in text]
    days.store.close()
