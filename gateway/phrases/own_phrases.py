"""A household's own phrase file → phrases that stand in place of ours, and what is wrong with each that cannot.

The file is built as ours are, and holds as little as one phrase: whatever it lacks is ours. A phrase of it may fill in what ours fill in, and
must keep what keeps people from harm and how to answer.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gateway.phrases.phrase_files import merged_phrases, read_phrases
from gateway.phrases.phrasebook import FIELD, NEVER_DROPPED
from gateway.phrases.said_times import ROLES

KeyPath = tuple[str | int, ...]
MESSAGES = ("said", "answer")
SENTENCES = ("head", "spoken")
PARTS = (*SENTENCES, "more", "spoken_more")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnMistake:
    """What is wrong at a key of the file; `known`: what may stand there instead."""

    path: KeyPath
    found: str
    wrong: str
    known: tuple[str, ...] = ()


def read_own_phrases(file: str) -> str:
    """What stands in the file. Raises OSError and UnicodeDecodeError."""
    return Path(file).read_text("utf-8-sig")


def with_own_phrases(language: str, text: str) -> dict[str, Any]:
    """Our phrases with the household's laid over them; of what it says itself nothing is in doubt. Raises tomllib.TOMLDecodeError."""
    own = tomllib.loads(text)
    said = {f"{table}.{key}" for table, phrases in own.items() for key in phrases}
    laid = _laid_over(merged_phrases(language), own)
    return {**laid, "native": {key: doubt for key, doubt in laid.get("native", {}).items() if key not in said}}


def find_own_mistakes(language: str, own: Mapping[str, Any]) -> Iterator[OwnMistake]:
    """Everything in the household's phrases that cannot stand; nothing where all can."""
    ours = merged_phrases(language)
    for table, phrases in own.items():
        if table not in ours or not isinstance(phrases, Mapping):
            yield _unknown((table,), "table", ours)
            continue
        for key, phrase in phrases.items():
            if key not in ours[table]:
                yield _unknown((table, key), "phrase", ours[table])
            elif table in MESSAGES:
                yield from _message_mistakes(language, (table, key), phrase, ours[table][key])
            elif type(phrase) is not type(ours[table][key]):
                yield OwnMistake(path=(table, key), found=str(phrase), wrong=f"is no {_called(ours[table][key])}")
            else:
                yield from _fields_mistakes((table, key), phrase, _fields_of(language, table, key))


def _message_mistakes(language: str, path: KeyPath, phrase: object, ours: Mapping[str, Any]) -> Iterator[OwnMistake]:
    if not isinstance(phrase, Mapping):
        yield OwnMistake(path=path, found=str(phrase), wrong="is no message: it has a head", known=('head = "…"',))
        return
    known = _fields_of(language, *map(str, path))
    for part, said in phrase.items():
        if part not in PARTS:
            yield _unknown((*path, part), "part of a message", dict.fromkeys(PARTS))
        elif isinstance(said, str) is not (part in SENTENCES):
            wrong = "is no sentence" if part in SENTENCES else "is no list of sentences"
            yield OwnMistake(path=(*path, part), found=str(said), wrong=wrong)
        else:
            yield from _fields_mistakes((*path, part), said, known)
            yield from _rank_mistakes((*path, part), said, ours.get(part, ours.get("more", [])))


def _rank_mistakes(path: KeyPath, said: object, ours: object) -> Iterator[OwnMistake]:
    """What is never dropped of ours must be there too."""
    if not isinstance(said, list) or not isinstance(ours, list):
        return
    kept, ours_kept = (sum(str(piece).startswith(NEVER_DROPPED) for piece in pieces) for pieces in (said, ours))
    if kept < ours_kept:
        wrong = f'has {kept} pieces that begin with "!", which keep people from harm, and ours has {ours_kept}'
        yield OwnMistake(path=path, found=str(said), wrong=wrong)
    if any("{take}" in piece for piece in ours) and not any("{take}" in str(piece) for piece in said):
        yield OwnMistake(path=path, found=str(said), wrong="does not say how to answer", known=("{take}",))


def _fields_mistakes(path: KeyPath, said: object, known: Mapping[str, None]) -> Iterator[OwnMistake]:
    for sentence in _sentences(said):
        for name, how in FIELD.findall(sentence):
            if name not in known:
                yield OwnMistake(
                    path=path, found=f"{{{name}}}", wrong=f"{{{name}}} is filled in by nothing here", known=tuple(known)
                )
            elif how and how not in ROLES and f"{name}:{how}" not in known:
                yield OwnMistake(path=path, found=how, wrong=f"{how!r} is no role of a time", known=ROLES)
        if set("{}") & set(FIELD.sub("", sentence)):
            yield OwnMistake(path=path, found=sentence, wrong="has a brace that belongs to no field")


def _fields_of(language: str, table: str, key: str) -> dict[str, None]:
    """What may be filled in there: all that our phrase has in any part, in that language or in English; counted ones with their word."""
    fields: dict[str, None] = {}
    for data in (read_phrases("en"), read_phrases(language)):
        for sentence in _sentences(data.get(table, {}).get(key, "")):
            for name, how in FIELD.findall(sentence):
                fields |= {name: None, **({f"{name}:{how}": None} if how else {})}
    return fields


def _sentences(said: object) -> Iterator[str]:
    if isinstance(said, str):
        yield said
    elif isinstance(said, Mapping):
        for inner in said.values():
            yield from _sentences(inner)
    elif isinstance(said, list):
        for inner in said:
            yield from _sentences(inner)


def _laid_over(ours: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """Table by table, and in a message part by part."""
    laid = dict(ours)
    for key, value in own.items():
        deeper = isinstance(value, Mapping) and isinstance(laid.get(key), Mapping)
        laid[key] = _laid_over(laid[key], value) if deeper else value
    return laid


def _unknown(path: KeyPath, what: str, known: Mapping[str, Any]) -> OwnMistake:
    return OwnMistake(path=path, found=str(path[-1]), wrong=f"is no {what} of ours", known=tuple(known))


def _called(ours: object) -> str:
    return "list of words" if isinstance(ours, list) else "sentence" if isinstance(ours, str) else "table of forms"
