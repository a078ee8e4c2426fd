"""The phrase file of the household's language → remarks of `check`: what lacks, what is cut, what is written in other letters."""

from collections.abc import Iterator, Sequence

from gateway.errors import Problem
from gateway.settings.models import Settings
from gateway.settings.problems import Locate

SHOWN = 4


def phrase_checks(settings: Settings, locate: Locate) -> Iterator[Problem]:
    """Warnings at `site.language`; an unknown language is another check's matter."""
    from gateway.gsm.translit import to_gsm
    from gateway.phrases import languages, load_phrases
    from gateway.phrases.review import review

    language = settings.site.language
    if language not in languages():
        return
    book = load_phrases(language)
    found = review(book, longest_names(settings), settings.limits.segments)
    if found.lacking:
        yield _remark(
            locate, language, f"lacks phrases, said in English: {_some(found.lacking)}", "a complete phrase file"
        )
    if found.cut:
        wrong = f"some messages do not fit and will be cut with your longest names: {_some(found.cut)}"
        yield _remark(locate, language, wrong, "shorter names, or more limits.segments")
    if book.own_alphabet:
        wrong = "needs letters that plain texts lack: a message holds 70 characters instead of 160"
        yield _remark(locate, language, wrong, "nothing need be done; limits.segments = 2 leaves more room")
    elif found.letters:
        wrong = f"has letters that plain texts lack ({found.letters}); messages say {to_gsm(found.letters)}"
        yield _remark(locate, language, wrong, "nothing need be done")


def longest_names(settings: Settings) -> dict[str, str]:
    """The longest of each kind of name in this configuration."""
    people = [one.name for one in settings.contacts]
    return {
        "tank": _longest([one.name for one in settings.tanks]),
        "controller": _longest([one.name for one in settings.controllers]),
        "who": _longest(people),
        "name": _longest(people),
        "site": settings.site.name,
    }


def _longest(names: Sequence[str]) -> str:
    return max(names, key=len, default="")


def _remark(locate: Locate, language: str, wrong: str, right: str) -> Problem:
    return locate.problem(("site", "language"), found=language, wrong=wrong, right=right, warning=True)


def _some(keys: Sequence[str]) -> str:
    rest = len(keys) - SHOWN
    return ", ".join(keys[:SHOWN]) + (f" and {rest} more" if rest > 0 else "")
