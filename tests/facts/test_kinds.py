"""The table of event kinds is whole: whatever a kind lacks is named, with its place."""

import tomllib
from dataclasses import fields, replace
from pathlib import Path
from typing import get_args

import pytest

from gateway.facts.event_kind import EPISODE_TONES, EventKind, Family, Kind, Tone
from gateway.facts.kinds import KINDS, URGENT_KINDS, kinds_where
from gateway.page.year_calendar import WEIGHTIEST_FIRST
from gateway.phrases import languages
from gateway.phrases.phrase_files import read_phrases
from tests.facts.kinds_complete import DOCUMENT, lacks, written

EXAMPLE = Path(__file__).parents[2] / "config/gateway.toml"
PUMP = Kind(name="pump-stopped", subject="controllers", priority="urgent", opens="pump", page="The pump stopped")
"""A kind of which nothing is there but its entry."""


def test_the_type_and_the_table_name_the_same_kinds():
    """mypy knows the kinds from the one, the program from the other."""
    assert get_args(EventKind) == tuple(KINDS)


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_a_kind_is_whole(kind):
    """It has a phrase in every language where it is told, an end where it begins something, a place on the page."""
    assert list(lacks(kind)) == []


def test_what_a_new_kind_lacks_is_named_with_its_place():
    """An entry alone: every language, the alarm's end, the page's tone and lane are told by name."""
    told = list(lacks(PUMP))
    for language in languages():
        assert f"pump-stopped: no [said.pump-stopped] in phrases/{language}.toml" in told
        assert f"pump-stopped: no pump-stopped in [label] in phrases/{language}.toml" in told
    assert "pump-stopped: nothing closes the alarm pump that it opens" in told
    assert "pump-stopped: it opens an alarm, and has no `tone` on the page" in told
    assert "pump-stopped: the page draws no episodes of pump" in told


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"name": "low", "weekly": False, "opens": None}, "low: it is urgent, and `opens` no alarm"),
        ({"name": "low-over", "closes": "sun"}, "low-over: nothing opens the alarm sun that it closes"),
        ({"name": "high", "weekly": True}, "high: no high in [spoken_week] in phrases/en.toml"),
        ({"name": "high", "opens": None}, "high: [said.high] asks for a reply in phrases/en.toml"),
        ({"name": "high", "do": ""}, "high: `alarms --why` cannot say its consequence, by when to respond, and what to do"),
        ({"name": "modem-lost", "priority": "urgent"}, "modem-lost: [said.modem-lost] does not ask for a reply in phrases/en.toml"),
        ({"name": "odd", "word_for_word": True}, "odd: [said.odd] does not hold the text itself in phrases/en.toml"),
        ({"name": "odd", "lasts": True}, "odd: it lasts, and `do` does not say what helps"),
        ({"name": "silent", "subject": "tanks"}, "silent: what closes the alarm silence is told to others than those who heard of it"),
        ({"name": "odd", "page": "{where} hums"}, None),
        ({"name": "odd", "page": "it hums"}, "odd: `page` is no sentence without its full stop: 'it hums'"),
        ({"name": "odd", "page": "{tank} hums"}, "odd: `page` holds what nobody fills in: tank"),
        ({"name": "note", "moment": "clock"}, "note: the page draws no moments of clock"),
        ({"name": "gateway-stopped", "priority": "soon"}, "gateway-stopped: no [said.gateway-stopped] in phrases/en.toml"),
    ],
)  # fmt: skip
def test_each_thing_that_lacks_is_named(change, told):
    """One thing taken from an entry that is whole."""
    broken = replace(KINDS[change["name"]], **change)
    named = list(lacks(broken, {**KINDS, broken.name: broken}, {"en": read_phrases("en")}))
    assert (told in named) if told else named == []


def test_a_name_that_has_no_entry_stands_for_nothing():
    """It does not become the gateway's."""
    with pytest.raises(KeyError, match="pump-stopped"):
        KINDS["pump-stopped"]


def test_every_family_and_every_flag_is_used():
    """No word of the types, and no field of an entry, is there for nothing."""
    named = {family for kind in KINDS.values() for family in (kind.opens, kind.closes, kind.moment) if family}
    assert named == set(get_args(Family)) and set(EPISODE_TONES) <= named
    for flag in (field.name for field in fields(Kind) if field.type is bool):
        assert 0 < len(kinds_where(lambda kind, flag=flag: getattr(kind, flag))) < len(KINDS), flag


def test_the_page_has_a_place_for_every_tone():
    """A day of the calendar is marked with the weightiest of its tones: a tone that had no weight would be an error there."""
    assert set(WEIGHTIEST_FIRST) == set(get_args(Tone))


def test_only_what_the_taps_hang_on_and_what_runs_on_is_urgent_by_itself():
    """Whatever else is urgent is so by its consequence, or since the household wants it; the example names no kind for it."""
    assert URGENT_KINDS == ("ran-dry", "low", "errand-runs-on")
    assert tomllib.loads(EXAMPLE.read_text("utf-8"))["call_out"]["urgent"] == []


def test_the_table_of_kinds_stands_beside_the_code():
    """`python -m tests.facts.kinds_complete` writes it anew."""
    assert DOCUMENT.read_text("utf-8") == written()
