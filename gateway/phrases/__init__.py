"""What happened → words that fit the segments, in the household's language."""

from gateway.phrases.phrase_files import languages
from gateway.phrases.phrasebook import Phrasebook, load_page_phrases, load_phrases

__all__ = ["Phrasebook", "languages", "load_page_phrases", "load_phrases"]
