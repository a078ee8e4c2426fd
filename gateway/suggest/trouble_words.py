"""Words that speak of trouble, in the languages of our phrases: a text that has one is never taken for a sign of life unasked.

Beginnings of words, from memory of how such boxes and people write. A word too many costs one question; one too few could cost the water.
"""

from collections.abc import Sequence

import regex

QUIET = ("alive", "ignore", "reading")
"""What is read so tells nobody: a text of trouble that such a rule swallows is lost."""
_BEGINNINGS = (
    "low", "empty", "dry", "fail", "fault", "alarm", "alert", "flood", "high", "overflow", "leak", "lost", "error", "trip", "critical", "warn",
    "down", "dead", "stop", "no water", "open", "frost", "freez", "tamper",
    "leer", "niedrig", "tief", "trocken", "ausfall", "ausgefallen", "störung", "stoerung", "fehler", "hoch", "überlauf", "undicht", "verloren",
    "warnung", "notruf", "kein wasser", "frost",
    "bajo", "baja", "vací", "vaci", "seco", "seca", "fallo", "falla", "alto", "alta", "desborda", "inunda", "fuga", "perdid", "aviso",
    "sin agua", "helad", "parad",
    "низьк", "порожн", "сух", "авар", "тривог", "збій", "збою", "висок", "перелив", "затопл", "витік", "втрач", "помилк", "немає",
    "мороз", "зупин",
)  # fmt: skip
_TROUBLE = regex.compile(rf"(?<!\p{{L}})(?:{'|'.join(map(regex.escape, _BEGINNINGS))})\p{{L}}*", regex.IGNORECASE)


def words_of_trouble(text: str) -> Sequence[str]:
    """Those in the text, as they stand there."""
    return [found.group() for found in _TROUBLE.finditer(text)]
