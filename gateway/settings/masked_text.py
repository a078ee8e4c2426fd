"""The configuration file as it is kept in the record, and so in every backup: word for word, but what is secret is masked and named.

A box's commands can hold its password, and the store's address another. A file that still says `(secret)` somewhere is refused: it came from a
backup, and what was left out has to be written again.
"""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from gateway.errors import Problem
from gateway.settings.key_lines import KeyPath, find_key_lines
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator, dotted_key
from gateway.settings.settings_changes import MASK, URL_PASSWORD, without_passwords

_QUOTED = r"(\"(?:[^\"\\]|\\.)*\"|'[^']*')"


@dataclass(frozen=True, slots=True, kw_only=True)
class MaskedText:
    """The file's text, and the keys whose values are left out of it."""

    text: str
    secrets: tuple[str, ...]


def masked_text(settings: Settings) -> MaskedText | None:
    """Of the file that the settings were read from; None where they come from none, or a secret cannot be told apart in it."""
    text, paths = settings.file_text, tuple(_secrets(settings))
    if not text:
        return None
    places, lines = find_key_lines(text), text.split("\n")
    for path in paths:
        at = places.line(path) - 1
        if path == ("store", "url"):
            lines[at] = without_passwords(lines[at])
        else:
            lines[at] = re.sub(rf"(\b{path[-1]}\s*=\s*){_QUOTED}", rf'\g<1>"{MASK}"', lines[at], count=1)
    shown = "\n".join(lines)
    try:
        data = tomllib.loads(shown)
    except tomllib.TOMLDecodeError:  # a text over several lines
        return None
    if not all(MASK in str(_at(data, path)) for path in paths):
        return None
    return MaskedText(text=shown, secrets=tuple(dotted_key(path) for path in paths))


def check_left_out(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """What a backup left out and nobody wrote again: a box would be sent the mask."""
    data = settings.model_dump()
    for path in _secrets(settings):
        if MASK in str(_at(data, path)):
            wrong = "was left out of the backup that this file came from"
            yield locator.problem(path, found=MASK, wrong=wrong, right="write it again, as it was")


def _secrets(settings: Settings) -> Iterator[KeyPath]:
    """Those that stand in the file itself."""
    if URL_PASSWORD.search(settings.store.url):
        yield ("store", "url")
    for index, controller in enumerate(settings.controllers):
        if controller.ask.text and not controller.ask.text_file:
            yield ("controllers", index, "ask", "text")
        for place, errand in enumerate(controller.errands):
            here = ("controllers", index, "errands", place)
            if errand.text and not errand.text_file:
                yield (*here, "text")
            if errand.stop_text:
                yield (*here, "stop_text")


def _at(data: Any, path: KeyPath) -> Any:
    for step in path:
        data = data[step]
    return data
