"""Samples of one day, texts of another: what they had alike by chance (the month, the weekday) is no part of a rule, and what tells is."""

import pytest

from gateway.rules.rulebook import compile_rulebook
from gateway.suggest.suggest_rules import suggest_rules

TIMES_IN_FRONT = """input 1 active	07:14 27/11 РІВЕНЬ-1 НИЖЧЕ
input 1 active	23:50 28/11 РІВЕНЬ-1 НИЖЧЕ
input 1 idle	09:20 27/11 РІВЕНЬ-1 ВИЩЕ
input 2 active	07:15 27/11 РІВЕНЬ-2 НИЖЧЕ
input 2 idle	10:15 27/11 РІВЕНЬ-2 ВИЩЕ
alive	12:00 27/11 НА ЗВ'ЯЗКУ 12.4В"""
WEEKDAYS = """input 1 active	Fr 27.11. 07:14 Kanal 1 gefallen
input 1 idle	Fr 27.11. 09:14 Kanal 1 gestiegen
input 2 active	Fr 27.11. 07:15 Kanal 2 gefallen
input 2 idle	Fr 27.11. 10:14 Kanal 2 gestiegen
alive	Fr 27.11. 12:00 läuft"""
NAMED_MONTHS = """input 1 active	7 mayo 07:14 boya 1 abajo
input 1 idle	7 mayo 09:14 boya 1 arriba
input 2 active	7 mayo 11:14 boya 2 abajo
input 2 idle	7 mayo 12:14 boya 2 arriba"""
SEPTIC = """input 1 active	SEPTIC 1 LOW 0714
input 1 idle	SEPTIC 1 WELL 0815
input 2 active	SEPTIC 2 LOW 0914
input 2 idle	SEPTIC 2 WELL 1015"""
COMMAS = """input 1 active	B7,1,UNTER,2311
input 1 idle	B7,1,OK,0611
input 2 active	B7,2,UNTER,1404
input 2 idle	B7,2,OK,1530
alive	B7,OK,12.7,88
alive	B7,OK,12.4,71
power-lost	B7,NETZ,AUS"""
COUNTS = """input 5 active	{"in":5,"st":"c"}
input 5 idle	{"in":5,"st":"o"}
alive	{"hb":1,"low":0,"v":12.6}
alive	{"hb":2,"low":0,"v":12.4}
alive	faults: none, 0 alarms, 14 texts"""
UNREAD = []


@pytest.mark.parametrize(
    ("samples", "text", "read"),
    [
        (TIMES_IN_FRONT, "04:02 03/12 РІВЕНЬ-2 НИЖЧЕ", [("input", "2", "active")]),
        (TIMES_IN_FRONT, "04:02 03/12 НА ЗВ'ЯЗКУ 11.9В", [("alive", None, None)]),
        (WEEKDAYS, "Mo 07.12. 23:01 Kanal 2 gefallen", [("input", "2", "active")]),
        (WEEKDAYS, "Sonntag 07-12 23:01 läuft", [("alive", None, None)]),
        (NAMED_MONTHS, "31 dic 02:40 boya 2 arriba", [("input", "2", "idle")]),
        (NAMED_MONTHS, "1 agosto 02:40 boya 1 abajo", [("input", "1", "active")]),
        (SEPTIC, "SEPTIC 3 LOW 0501", [("input", "3", "active")]),
        (COMMAS, "B7,3,OK,0915", [("input", "3", "idle")]),
        (COMMAS, "B7,OK,11.9,12", [("alive", None, None)]),
        (COMMAS, "B8,OK,11.9,12", UNREAD),
        (COMMAS, "B8,NETZ,AUS", UNREAD),
        (COUNTS, '{"hb":3,"low":0,"v":12.1}', [("alive", None, None)]),
        (COUNTS, '{"hb":3,"low":1,"v":12.1}', UNREAD),
        (COUNTS, "faults: none, 0 alarms, 15 texts", [("alive", None, None)]),
        (COUNTS, "faults: none, 2 alarms, 15 texts", UNREAD),
    ],
)
def test_a_text_of_another_day(samples, text, read):
    """Read as it is meant, or not at all: then it is passed on word for word."""
    suggested = suggest_rules(samples.splitlines())
    assert not suggested.unread
    readings = compile_rulebook([rule.rule for rule in suggested.rules]).read(text).readings
    assert [(reading.means, reading.input, reading.state) for reading in readings if reading.means != "reading"] == read
