"""The household's own phrase file → what is wrong in it, each with that file's line; `check`, `serve` and a reload refuse it."""

import tomllib
from collections.abc import Iterator

from gateway.errors import Problem, why_unreadable
from gateway.phrases import Phrasebook, languages, load_phrases
from gateway.phrases.own_phrases import MESSAGES, OwnMistake, find_own_mistakes, read_own_phrases
from gateway.phrases.review import segments_needed
from gateway.settings.key_lines import find_key_lines
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator, nearest_word
from gateway.site import household_phrases, phrase_file, segments_allowed

KNOWN_SHOWN = 8


def own_phrase_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Unknown phrases and fields, lost warnings, and what takes a further segment."""
    file, language = phrase_file(settings), settings.site.language
    if not file or language not in languages():
        return
    key = ("site", "phrases") if settings.site.phrases else ("phrases",)
    right = "a phrase file as ours are, with the phrases that you say otherwise"
    try:
        text = read_own_phrases(file)
        own = tomllib.loads(text)
    except (OSError, UnicodeDecodeError) as error:
        yield locator.problem(key, found=file, wrong=f"cannot be read: {why_unreadable(error)}", right=right)
        return
    except tomllib.TOMLDecodeError as error:
        yield locator.problem(key, found=file, wrong=f"is no TOML: {error}", right=right)
        return
    its = ProblemLocator(file, find_key_lines(text))
    mistakes = list(find_own_mistakes(language, own))
    yield from (_problem(its, mistake) for mistake in mistakes)
    if not mistakes:
        yield from _longer(settings, own, its)


def unsure_phrases(settings: Settings) -> tuple[str, ...]:
    """What a native reader has still to judge, by key; what the household says itself is not among it."""
    try:
        return tuple(household_phrases(settings).unsure)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, AttributeError, TypeError):
        return ()  # what is wrong with its file is told beside it


def _problem(its: ProblemLocator, mistake: OwnMistake) -> Problem:
    guess = nearest_word(mistake.found.strip("{}"), mistake.known) if mistake.known else None
    right = f"one of {', '.join(mistake.known[:KNOWN_SHOWN])}" if mistake.known else "as our own phrase has it"
    return its.problem(mistake.path, found=mistake.found, wrong=mistake.wrong, right=right, suggestion=guess)


def _longer(settings: Settings, own: dict[str, dict[str, object]], its: ProblemLocator) -> Iterator[Problem]:
    """Messages whose heads and warnings take more segments than ours and than the household allows."""
    ours, book = load_phrases(settings.site.language), household_phrases(settings)
    for table in MESSAGES:
        for key in own.get(table, {}):
            needed = _needed(book, table, key)
            if needed > max(segments_allowed(settings, book), _needed(ours, table, key)):
                wrong = f"takes {needed} segments for its head and what is never dropped"
                yield its.note((table, key), found=key, wrong=wrong, right="a shorter phrase, or more limits.segments")


def _needed(book: Phrasebook, table: str, key: str) -> int:
    short = dict.fromkeys(("tank", "controller", "who", "name", "site"), "-")
    return segments_needed(book, book.data[table][key], short)
