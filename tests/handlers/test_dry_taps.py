"""The taps ran dry: an alarm of the house and not a state of the tank, walked through its own taps, ended by somebody's word."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.status import summary
from gateway.status.dry_taps import taps_dry
from gateway.status.snapshot import take_snapshot
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

JUNE, H = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1)
TAPS = '[bleed]\ntaps = ["laundry", "kitchen"]\n'


@pytest.fixture
def days(tmp_path):
    """The household with two named taps."""
    made = Days(tmp_path, rest=TAPS)
    yield made
    made.store.close()


def answers(days, texts):
    """Every answer to Wren, in the order of the texts."""
    said = []
    for hour, text in enumerate(texts):
        known = {message for to, message in days.outbox() if to == WREN}
        days.comes(JUNE + hour * H, text, number=WREN)
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
        (["LINE 1 MADE 0717"], "dry ?", "House tank: dry from"),
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


def test_a_second_report_does_not_begin_the_steps_anew(days):
    """Who is at the kitchen tap stays there."""
    answers(days, ["DRY", "NEXT", "NEXT"])
    days.comes(JUNE + 5 * H, "DRY", number=ROBIN)
    with days.store.read() as reader:
        assert taps_dry(reader).step == 2


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
