"""A contact's text is one order; slips are forgiven only where nothing can go wrong."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.orders import Dry, Note, Ok, Tanks, Unknown, Week, Words, Work, parse
from gateway.phrases import load_phrases

TANKS = (("house", "House tank"), ("spring", "Spring tank"))
WORDS = load_phrases("en").words()


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("OK", Ok()),
        (" ok. ", Ok()),
        ("Ok!", Ok()),
        ("tanks", Tanks()),
        ("tnaks", Tanks()),
        ("WEEK", Week()),
        ("weeek", Week()),
        ("words?", Words()),
        ("DRY", Dry()),
        ("drye", Unknown()),
        ("dry weather here, all well", Unknown()),
        ("OK I will be there in an hour or so", Unknown()),
        ("I am driving and will reply later", Unknown()),
        ("WORK house 4h", Work(tank="house", duration=timedelta(hours=4))),
        ("work House Tank 1d 2h", Work(tank="house", duration=timedelta(hours=26))),
        ("WORK spring", Work(tank="spring", duration=None)),
        ("WORK attic 4h", Work(tank=None, duration=None)),
        ("WORK house 9999d", Work(tank="house", duration=None)),
        ("NOTE cleaned the intake", Note(text="cleaned the intake")),
        ("note: new gasket", Note(text="new gasket")),
        ("NOTE", Note(text="")),
        ("", Unknown()),
    ],
)
def test_orders(text, order):
    """Each word with its argument; nothing is guessed for words that do something."""
    assert parse(text, WORDS, TANKS) == order


@given(st.text(max_size=200))
def test_no_text_breaks_it(text):
    """Whatever is texted is some order."""
    assert parse(text, WORDS, TANKS) is not None


def test_words_of_another_language():
    """Accents aside."""
    assert parse("behalter", load_phrases("de").words(), TANKS) == Tanks()
    assert parse("баки", load_phrases("uk").words(), TANKS) == Tanks()
