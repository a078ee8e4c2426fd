"""The page's words: every language says everything, with the same values in it, and with each form that its numbers take."""

import re

import pytest

from gateway.facts import KINDS
from gateway.phrases import languages, load_phrases, with_page_words
from gateway.phrases.cldr import plural_form, runs_right_to_left
from gateway.phrases.phrasebook import FIELD, read_phrases

ENGLISH = read_phrases("page/en")
OTHERS = [language for language in languages() if language != "en"]


def sentences(language):
    """`table.name` → the sentence, of all but the counted words."""
    tables = read_phrases(f"page/{language}")
    return {
        f"{table}.{name}": sentence
        for table, entries in tables.items()
        if table != "counts"
        for name, sentence in entries.items()
    }


def fields(sentence):
    """What may stand in it, however it is said."""
    return set(re.findall(r"\{([a-z_]+)(?::[a-z]+)?\}", sentence))


@pytest.mark.parametrize("language", OTHERS)
def test_every_language_says_everything_of_the_page(language):
    """The record's sentences too, which in English are those of the kinds; nothing that nobody asks for."""
    english = sentences("en") | {f"event.{name}": kind.page for name, kind in KINDS.items()}
    assert set(sentences(language)) == set(english)


@pytest.mark.parametrize("language", OTHERS)
def test_a_sentence_tells_what_it_tells_in_english(language):
    """No value is lost or made up on the way; only a sentence of the record may do without one."""
    english = sentences("en") | {f"event.{name}": kind.page for name, kind in KINDS.items()}
    for key, sentence in sentences(language).items():
        assert fields(sentence) == fields(english[key]), key
        assert FIELD.sub("", sentence).count("{") == 0, key


@pytest.mark.parametrize("language", languages())
def test_each_number_has_its_form(language):
    """Of the page's own words and of those of the messages."""
    book = with_page_words(load_phrases(language))
    for name in ENGLISH["counts"]:
        forms = book.data["counts"][name]
        for n in (0, 1, 2, 5, 11, 21, 22, 25):
            assert plural_form(language, n) in forms or set(forms) == {"one", "other"}, (name, n)


def test_what_is_written_from_right_to_left_is_known():
    """None of ours is; the page would turn round."""
    assert runs_right_to_left("ar") and runs_right_to_left("he")
    assert not any(runs_right_to_left(language) for language in languages())
