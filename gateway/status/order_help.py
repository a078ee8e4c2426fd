"""What a contact may text, each word with what it does: the five that a household uses, or all the others."""

from gateway.phrases import Phrasebook

HOUSEHOLD_WORDS = ("ok", "tanks", "dry", "work", "note")
UNLISTED = ("yes", "words", "words-more")
"""Told where it is needed, or the question itself."""


def words_said(phrases: Phrasebook, tank: str, *, more: bool = False) -> str:
    """`OK=I see to it, TANKS=how all stands, … WORDS MORE=the rest`; with `more` the rest. `tank`: the id of one, for an example."""
    words = phrases.order_words()
    keys = (
        [key for key in words if key not in (*HOUSEHOLD_WORDS, *UNLISTED)] if more else [*HOUSEHOLD_WORDS, "words-more"]
    )
    return ", ".join(_entry(phrases, key, words[key][0], tank) for key in keys)


def example_of(phrases: Phrasebook, key: str, tank: str) -> str:
    """How one word is sent: `OK`, `WORK house 4h`."""
    return _entry(phrases, key, phrases.order_words()[key][0], tank).partition("=")[0]


def _entry(phrases: Phrasebook, key: str, word: str, tank: str) -> str:
    template = phrases.sentence("help", key)
    return template.format(word=word, tank=tank) if template else word
