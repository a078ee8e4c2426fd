"""What happened → words that fit the segments, in the household's language."""

from gateway.phrases.phrase_files import languages
from gateway.phrases.phrasebook import Phrasebook, load_phrases, with_page_words

__all__ = ["Phrasebook", "languages", "load_phrases", "with_page_words"]
