"""WORDS and WORDS MORE: each word with what it does, in every language."""

import pytest

from gateway.gsm.segments import measure_text
from gateway.orders import Words, parse
from gateway.phrases import languages, load_phrases
from gateway.status.order_help import HOUSEHOLD_WORDS, UNLISTED, words_said
from tests.phrases.messages import allowed


@pytest.mark.parametrize("language", languages())
def test_five_words_and_where_the_others_are(language):
    """In one answer that costs no more than any message, each with what it does, then the word that leads to the rest."""
    book = load_phrases(language)
    words, said = book.order_words(), words_said(book, "house")
    entries = said.split(", ")
    keys = [*HOUSEHOLD_WORDS, "words-more"]
    assert [entry.startswith(words[key][0]) and "=" in entry for entry, key in zip(entries, keys, strict=True)] == [
        True
    ] * 6
    assert measure_text(book.in_its_letters(said)).segments <= allowed(book)


@pytest.mark.parametrize("language", languages())
def test_the_rest_has_every_other_word(language):
    """None is told twice, none left out."""
    book = load_phrases(language)
    others = [words[0] for key, words in book.order_words().items() if key not in (*HOUSEHOLD_WORDS, *UNLISTED)]
    entries = words_said(book, "house", more=True).split(", ")
    assert len(entries) == len(others)
    assert all(entry.startswith(word) and "=" in entry for entry, word in zip(entries, others, strict=True))


@pytest.mark.parametrize(
    ("language", "text", "more"),
    [
        ("en", "WORDS", False),
        ("en", "help", False),
        ("en", "Status?", False),
        ("en", "?", False),
        ("en", " ?? ", False),
        ("en", "words more", True),
        ("en", "HELP MORE.", True),
        ("de", "Hilfe", False),
        ("de", "Hilfe mehr", True),
        ("es", "ayuda", False),
        ("es", "AYUDA MÁS", True),
        ("uk", "довідка", False),
        ("uk", "Довідка ще", True),
    ],
)
def test_whatever_people_send_who_know_no_word_leads_there(language, text, more):
    """HELP, ?, STATUS and their like, in their own language too."""
    assert parse(text, load_phrases(language).order_words(), [("house", "House tank")]) == Words(more=more)


@pytest.mark.parametrize("text", ["", "!", "..."])
def test_no_question_is_no_question(text):
    """An empty text asks for nothing."""
    assert parse(text, load_phrases("en").order_words(), []) != Words()
