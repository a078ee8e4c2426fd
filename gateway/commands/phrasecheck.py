"""Names and the phrase file of the household's language → remarks of `check`: what lacks, what is cut, what is in other letters.

A name that is told to be too long is not told again among the messages that are cut.
"""

from collections.abc import Iterator, Sequence

from gateway.errors import Problem
from gateway.phrases import Phrasebook
from gateway.settings.models import Controller, Settings, Tank
from gateway.settings.problems import ProblemLocator

SHOWN = 4


def name_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Names that a message cannot carry as they are: other letters, or too long for its first sentence."""
    from gateway.gsm.segments import measure
    from gateway.gsm.translit import to_gsm

    book = _book(settings)
    named: list[tuple[str, int, Tank | Controller]] = [("tanks", *one) for one in enumerate(settings.tanks)]
    named += [("controllers", *one) for one in enumerate(settings.controllers)]
    for table, index, one in named:
        if measure(one.name).alphabet != "gsm7" and not book.has_own_alphabet:
            yield locator.note(
                (table, index, "name"),
                found=one.name,
                wrong=f"has letters that a plain text lacks; messages will say {to_gsm(one.name)!r}",
                right="a name in plain letters, if you would rather choose it yourself",
            )
        if _too_long(book, one, settings.limits.segments):
            yield locator.note(
                (table, index, "name"),
                found=one.name,
                wrong="is too long: a message with it does not fit, and will be cut",
                right="a shorter name, or more limits.segments",
            )


def phrase_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Warnings at `site.language`; an unknown language is another check's matter."""
    from gateway.gsm.translit import to_gsm
    from gateway.phrases import languages
    from gateway.phrases.review import review_phrases

    language = settings.site.language
    if language not in languages():
        return
    book = _book(settings)
    found = review_phrases(book, _longest_names(book, settings), settings.limits.segments)
    if found.lacking:
        yield _remark(
            locator, language, f"lacks phrases, said in English: {_some(found.lacking)}", "a complete phrase file"
        )
    if found.cut:
        wrong = f"some messages do not fit and will be cut with your longest names: {_some(found.cut)}"
        yield _remark(locator, language, wrong, "shorter names, or more limits.segments")
    if book.has_own_alphabet:
        wrong = "needs letters that plain texts lack: a message holds 70 characters instead of 160"
        yield _remark(locator, language, wrong, "nothing need be done; limits.segments = 2 leaves more room")
    elif found.letters:
        wrong = f"has letters that plain texts lack ({found.letters}); messages say {to_gsm(found.letters)}"
        yield _remark(locator, language, wrong, "nothing need be done")


def _book(settings: Settings) -> Phrasebook:
    from gateway.phrases import languages, load_phrases

    return load_phrases(settings.site.language if settings.site.language in languages() else "en")


def _too_long(book: Phrasebook, named: Tank | Controller, segments: int) -> bool:
    """Whether its weightiest message has no room for its name."""
    from gateway.gsm.segments import measure
    from gateway.gsm.translit import to_gsm
    from gateway.phrases.review import LONGEST_TIME

    kind, field = ("low", "tank") if isinstance(named, Tank) else ("silent", "controller")
    head = book.uncut_head(kind, {field: named.name, "since": LONGEST_TIME})
    return measure(head if book.has_own_alphabet else to_gsm(head)).segments > segments


def _longest_names(book: Phrasebook, settings: Settings) -> dict[str, str]:
    """The longest of each kind of name that is not too long by itself."""
    segments = settings.limits.segments
    people = [one.name for one in settings.contacts]
    return {
        "tank": _longest([one.name for one in settings.tanks if not _too_long(book, one, segments)]),
        "controller": _longest([one.name for one in settings.controllers if not _too_long(book, one, segments)]),
        "who": _longest(people),
        "name": _longest(people),
        "site": settings.site.name,
    }


def _longest(names: Sequence[str]) -> str:
    return max(names, key=len, default="")


def _remark(locator: ProblemLocator, language: str, wrong: str, right: str) -> Problem:
    return locator.note(("site", "language"), found=language, wrong=wrong, right=right)


def _some(keys: Sequence[str]) -> str:
    rest = len(keys) - SHOWN
    return ", ".join(keys[:SHOWN]) + (f" and {rest} more" if rest > 0 else "")
