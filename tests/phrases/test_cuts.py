"""A cut falls between two words, shows in the message's own alphabet, and never turns letters into others that the household did not ask for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.gsm.segments import measure_text
from gateway.handlers.enqueue import in_pieces
from gateway.phrases import load_phrases
from gateway.phrases.cut_to_segments import Letters, cut_to_segments, in_its_letters
from gateway.settings.load import load
from gateway.site import compile_site
from tests.household import write_config

OWN = Letters(own=True)


@pytest.mark.parametrize(
    ("message", "letters", "ends"),
    [
        ("word " * 40, Letters(), "word word..."),
        ("слово " * 20, OWN, "слово слово…"),
        ("one two six. " * 13, Letters(), "two six..."),
        ("x" * 200, Letters(), "xxx..."),
        ("ten chars " * 15 + "seven ch", Letters(), "ten chars seven ch"),
        ("7 days: " + "House tank low 3 times; " * 9, Letters(), "House tank low 3 times..."),
        ("one; " + "word " * 40, Letters(), "word word..."),
    ],
    ids=["latin", "its own", "behind a stop", "one word of any length", "it fits", "a list", "a stop far before"],
)
def test_a_cut_falls_between_words(message, letters, ends):
    """And leaves no doubled stop."""
    cut = cut_to_segments(message, 1, letters)
    assert cut.endswith(ends) and measure_text(cut).segments == 1 and "...." not in cut


@given(st.lists(st.text("abcя", min_size=1, max_size=12), min_size=1, max_size=80), st.integers(1, 3), st.booleans())
def test_what_is_kept_is_whole_words(words, segments, own):
    """Whatever the words: each that is kept stands in the message as it was."""
    message = " ".join(words)
    cut = cut_to_segments(message, segments, Letters(own=own))
    shown = in_its_letters(message, Letters(own=own))
    assert measure_text(cut).segments <= segments
    assert cut == shown or shown.startswith(cut.rstrip(".…") + " ")


@pytest.mark.parametrize(
    ("written", "segments", "long_message"),
    [("", 2, "cyrillic"), ("[limits]\nsegments = 1\n", 1, "latin"), ("[limits]\nsegments = 3\n", 3, "cyrillic")],
)
def test_a_language_with_letters_of_its_own_gets_two_segments(tmp_path, written, segments, long_message):
    """Unless the household wrote one itself: then what is longer leaves in Latin letters, by the language's own rule."""
    site = compile_site(load(str(write_config(tmp_path, language="uk", rest=written))).settings)
    assert site.segments == segments
    short, long = "Година хвилина", "Година хвилина НЕМАЄ " * 4
    assert site.phrases.in_its_letters(short) == short
    assert "мало води" in site.phrases.message("low", {"tank": "Бак" * 30}, segments=segments, line="landline")
    latin = "Hodyna khvylyna NEMAIE " * 4
    assert site.phrases.in_its_letters(long) == (long if long_message == "cyrillic" else latin)


def test_other_languages_have_the_segments_that_are_written(tmp_path):
    """One where none is written."""
    assert compile_site(load(str(write_config(tmp_path))).settings).segments == 1


def test_an_answer_in_pieces_parts_no_word_and_loses_no_letter():
    """However many messages it takes."""
    text = load_phrases("uk").in_its_letters("Шістсот літрів води, " * 12)
    pieces = in_pieces(text, 1)
    assert "".join(pieces) == text and len(pieces) > 3
    assert all(piece.endswith(" ") for piece in pieces[:-1])
    assert "".join(in_pieces("y" * 500, 1)) == "y" * 500
