"""Configuration that changed is on record: at the start after it and at a reload, and told in the history and on the page in plain words."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.facts.states.gateway_itself import ConfigurationKept
from gateway.handlers import gateway_life
from gateway.page.event_list import event_line
from gateway.phrases import load_phrases, with_page_words
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.next_due import next_due
from tests.handlers.days import Days
from tests.household import RIDGE, ROBIN, WREN

JUNE, H, M = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(hours=1), timedelta(minutes=1)
TURNS = '[call_out]\ntake_within = "15m"\n'


def test_a_change_is_on_record_once_at_start_or_at_reload(tmp_path, capsys):
    """The first configuration is no change; one that was changed while nothing ran is one; nor is it told twice."""
    days = Days(tmp_path)
    days.at(JUNE, gateway_life.started)
    days.at(JUNE + H, gateway_life.reloaded)
    assert not days.events("configuration-changed")
    days.configure(rest="[limits]\nsegments = 2\n")
    days.at(JUNE + 2 * H, gateway_life.started)
    days.at(JUNE + 3 * H, gateway_life.started)
    days.configure(rest="[limits]\nsegments = 3\n", wren='quiet = "22:00-06:00"')
    days.at(JUNE + 4 * H, gateway_life.reloaded)
    first, second = days.events("configuration-changed")
    changed = {"key": "limits.segments", "from": None, "to": "2"}
    assert (first.at, first.detail) == (JUNE + 2 * H, {"changes": [changed]})
    assert {change["key"]: (change["from"], change["to"]) for change in second.detail["changes"]} == {
        "limits.segments": ("2", "3"),
        "contacts[wren].quiet": (None, "22:00-06:00"),
    }
    page_site = replace(days.site, phrases=with_page_words(load_phrases("en")))
    assert event_line(page_site, first, JUNE).what == "The configuration changed: limits.segments."
    assert main(["history", "--config", str(tmp_path / "gateway.toml")]) == 0
    assert "limits.segments '2' -> '3'" in " ".join(capsys.readouterr().out.split())
    days.store.close()


def test_the_file_itself_is_kept_without_its_secrets(tmp_path):
    """So that every backup has it; as it is now, whatever stood in it before."""
    days = Days(tmp_path, controller='ask = { text = "#1234 REPORT", every = "2d" }')
    days.at(JUNE, gateway_life.started)
    days.configure(wren='quiet = "22:00-06:30"')
    days.at(JUNE, gateway_life.started)
    with days.store.read() as reader:
        kept = reader.state(ConfigurationKept)
    days.store.close()
    assert kept.text == (tmp_path / "gateway.toml").read_text() and kept.secrets == ()
    days = Days(tmp_path, controller='ask = { text = "#1234 REPORT", every = "2d" }')
    days.at(JUNE, gateway_life.started)
    with days.store.read() as reader:
        kept = reader.state(ConfigurationKept)
    days.store.close()
    assert kept.secrets == ("controllers[0].ask.text",) and 'ask = { text = "(secret)", every = "2d" }' in kept.text


def test_whoever_was_told_of_an_alarm_hears_that_its_tank_is_gone(tmp_path):
    """Nobody else: they never heard of it."""
    finch = '[[contacts]]\nid = "finch"\nname = "Finch"\nnumber = "0491 570 158"\nabout = ["gateway"]\n'
    stock = '[[tanks]]\nid = "stock"\nname = "Stock tank"\n  [[tanks.floats]]\n  controller = "ridge"\n  input = 3\n  means = "low"\n'
    days = Days(tmp_path, rest=finch + stock)
    days.at(JUNE, gateway_life.record_configuration)
    days.comes(JUNE, "LINE 3 MADE 1")
    assert {number for number, _ in days.leaves(JUNE)} == {WREN, ROBIN}
    days.configure(rest=finch)
    days.at(JUNE + H, gateway_life.record_configuration)
    assert sorted(number for number, text in days.outbox() if "Stock tank" in text) == [WREN, ROBIN]
    days.store.close()


@pytest.mark.parametrize("now_called", [None, "rob"], ids=["gone", "another id"])
def test_who_had_an_alarm_and_left_the_configuration_has_it_no_more(household, now_called):
    """Robin took it and is configured no more: nobody was told, and who sent OK read for hours that robin has it already."""
    days = household(robin="turn = 2", rest=TURNS)
    days.at(JUNE, gateway_life.record_configuration)
    days.says(JUNE, "LINE 1 MADE 1", number=RIDGE)
    days.says(JUNE + M, "OK house", number=ROBIN)
    row = '[[contacts]]\nid = "robin"\nname = "Robin"\nnumber = "0491 570 157"\nabout = ["tanks"]\nturn = 2'
    written = (days.folder / "gateway.toml").read_text()
    assert row in written
    (days.folder / "gateway.toml").write_text(
        written.replace(row, row.replace("robin", now_called) if now_called else "")
    )
    days.settings = load(str(days.folder / "gateway.toml")).settings
    days.site = compile_site(days.settings)
    days.at(JUNE + 2 * M, gateway_life.reloaded)
    with days.store.read() as reader:
        assert next_due(reader, days.site, JUNE + 2 * M, verdicts=False) <= JUNE + 2 * M
    left = days.time_brings(JUNE + 2 * M)
    called = [number for number, text in left if text.startswith("House tank LOW") and "Nobody has it yet" in text]
    assert called == [WREN]
    days.says(JUNE + 3 * M, "OK")
    with days.store.read() as reader:
        assert [alarm.taken_by for alarm in reader.alarms()] == ["wren"]


STOCK = '[[tanks]]\nid = "{id}"\nname = "Stock tank"\n  [[tanks.floats]]\n  controller = "ridge"\n  input = 3\n  means = "low"\n'


def test_a_tank_that_comes_back_to_the_file_while_it_is_low_is_told(household):
    """Taken out and put back: TANKS said LOW, no alarm stood, and nobody was told, whatever its float said."""
    days = household(rest=STOCK.format(id="stock"))
    days.at(JUNE, gateway_life.record_configuration)
    days.says(JUNE, "LINE 3 MADE 1", number=RIDGE)
    for hours, rest in ((1, ""), (2, STOCK.format(id="stock"))):
        days.configure(rest=rest)
        days.at(JUNE + hours * H, gateway_life.record_configuration)
    told = days.leaves(JUNE + 2 * H)
    assert [number for number, text in told if text.startswith("Stock tank LOW since 12:00")] == [WREN, ROBIN]
    assert any("no longer low" in text for _, text in days.says(JUNE + 3 * H, "LINE 3 BROKE 1", number=RIDGE))


def test_what_a_float_said_of_another_tank_is_not_remembered_of_this_one(household):
    """The tank has another id: its float was low already, as far as was remembered, and what it said told nobody."""
    days = household(rest=STOCK.format(id="stock"))
    days.at(JUNE, gateway_life.record_configuration)
    days.says(JUNE, "LINE 3 MADE 1", number=RIDGE)
    days.configure(rest=STOCK.format(id="trough"))
    days.at(JUNE + H, gateway_life.record_configuration)
    days.leaves(JUNE + H)
    told = days.says(JUNE + 2 * H, "LINE 3 MADE 1", number=RIDGE)
    assert [number for number, text in told if text.startswith("Stock tank LOW since 14:00")] == [WREN, ROBIN]


SHED = """
[[controllers]]
id = "shed"
name = "Shed box"
number = "0491 570 110"
  [[controllers.rules]]
  text = "SHED {input} {state}"
  means = "input"
  active = ["ON"]
  idle = ["OFF"]
"""
SHED_FLOAT = '  [[tanks.floats]]\n  controller = "shed"\n  input = 1\n  means = "low"\n'


def test_a_tank_that_another_box_watches_too_keeps_its_alarm(household):
    """The box that told of it left the file: the alarm was closed as the box's, and who had it never heard that the tank was well."""
    days = household(rest=SHED + STOCK.format(id="stock") + SHED_FLOAT)
    days.at(JUNE, gateway_life.record_configuration)
    days.says(JUNE, "SHED 1 ON", number="+61491570110")
    days.configure(rest=STOCK.format(id="stock"))
    days.at(JUNE + H, gateway_life.record_configuration)
    assert not any("taken out" in text for _, text in days.leaves(JUNE + H))
    over = days.says(JUNE + 2 * H, "LINE 3 BROKE 1", number=RIDGE)
    assert [number for number, text in over if "no longer low" in text] == [WREN, ROBIN]


LID = '[[inputs]]\ncontroller = "ridge"\ninput = 9\nname = "Lid"\nactive_says = "is open"\nidle_says = "is shut"\n'


def test_an_input_that_left_the_file_has_no_alarm(household):
    """TANKS went on with the open lid for ever, and no text and no word could end that; back in the file it is told anew."""
    days = household(rest=LID)
    days.at(JUNE, gateway_life.record_configuration)
    days.says(JUNE, "LINE 9 MADE 1", number=RIDGE)
    days.configure()
    days.at(JUNE + H, gateway_life.record_configuration)
    assert [text for _, text in days.leaves(JUNE + H) if "Lid was taken out of the gateway's settings" in text]
    with days.store.read() as reader:
        assert reader.alarms() == ()
    days.configure(rest=LID)
    days.at(JUNE + 2 * H, gateway_life.record_configuration)
    days.leaves(JUNE + 2 * H)
    assert any("Lid is open" in text for _, text in days.says(JUNE + 3 * H, "LINE 9 MADE 1", number=RIDGE))


def test_a_reading_whose_limit_left_the_file_has_no_alarm(household):
    """It stood for ever: what has no limit is never well again. With a limit again it is told anew."""
    rule = '  [[controllers.rules]]\n  text = "TROUGH {celsius} C"\n  means = "reading"\n  of = "water"\n  name = "Trough"\n'
    days = household(controller=rule + "  low = 2\n")
    days.at(JUNE, gateway_life.record_configuration)
    days.says(JUNE, "TROUGH 1 C", number=RIDGE)
    days.configure(controller=rule + "  low = 3\n")
    days.at(JUNE + H, gateway_life.record_configuration)
    with days.store.read() as reader:
        assert [alarm.key for alarm in reader.alarms()] == ["reading:ridge:trough"]
    days.configure(controller=rule)
    days.at(JUNE + H, gateway_life.record_configuration)
    assert [text for _, text in days.leaves(JUNE + H) if "Trough was taken out of the gateway's settings" in text]
    with days.store.read() as reader:
        assert reader.alarms() == ()
    days.configure(controller=rule + "  low = 2\n")
    days.at(JUNE + 2 * H, gateway_life.record_configuration)
    assert any("Trough is low" in text for _, text in days.says(JUNE + 3 * H, "TROUGH 1 C", number=RIDGE))
