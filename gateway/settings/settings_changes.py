"""Settings as they were and as they are → which keys changed, from what to what; secrets are seen to change and never shown.

`written_values` is what is remembered of a configuration: each key that is not at its default, as text. Rows are named by their ids, so
that one that moves in the file is no change, and a row that is new or gone is one change and not a dozen. Rows without an id have their
place in the file as it is: one that was put before them changes none of them.
"""

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import zip_longest
from typing import Any

from gateway.settings.models import Settings

SECRET_KEY = re.compile(r"\.ask\.text$|\.errands\[[^]]*\]\.(stop_)?text$")
"""A box's commands can hold its password."""
URL_PASSWORD = re.compile(r"(://[^:/@\s]*:)([^\s\"']+)(?=@)|([?&](?:ssl)?password=)([^&\s\"']+)")
"""Up to the last @, since who writes one within a password does not always write it as %40; and what stands in the query."""
MASK = "(secret)"
NUMBERED_ROW = re.compile(r"^(.*\w)\[(\d+)\](?=\.|$)")
"""A row that may be without an id: its table, and its place."""
NAMING_KEYS = ("text", "regex", "controller", "input", "upper", "lower", "kind", "contact", "days", "begins")
"""What tells such a row from the others of its table."""
MARK = re.compile(r"(?<=\(secret\))(.*)#\w{8}$")


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyChange:
    """One key, or a whole row of a table. `before`, `after`: None where it is at its default, or is not there."""

    key: str
    before: str | None
    after: str | None

    def as_json(self) -> dict[str, str | None]:
        """As it stands in an event."""
        return {"key": self.key, "from": self.before, "to": self.after}


def written_values(settings: Settings) -> dict[str, str]:
    """Key → what was written, for every key that is not at its default; a secret's is a mark of it."""
    written = settings.model_dump(mode="json", exclude_defaults=True, by_alias=True)
    return {key: _shown(key, value) for key, value in _leaves(written, "")}


def readable_values(settings: Settings) -> dict[str, str]:
    """The same to be shown: a secret is only said to be one."""
    return {key: _masked(value) or "" for key, value in written_values(settings).items()}


def without_passwords(url: str) -> str:
    """A store's URL, or a line that holds it, to be shown."""
    return URL_PASSWORD.sub(lambda found: f"{found[1] or found[3]}{MASK}", url)


def changes_between(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[KeyChange, ...]:
    """What changed, in the order of the file as it is; what is gone last."""
    before = _placed_as(before, after)
    changes: dict[str, KeyChange] = {}
    for key in (*after, *(key for key in before if key not in after)):
        if before.get(key) != after.get(key):
            shown = _row_that_is_new(key, before, after) or key
            changes.setdefault(shown, _change(shown, key, before, after))
    return tuple(changes.values())


def _placed_as(before: Mapping[str, str], after: Mapping[str, str]) -> dict[str, str]:
    """What was written, each row without an id at the place that it has now; one that is gone at none."""
    places: dict[str, str] = {}
    names, now = _numbered_rows(before), _numbered_rows(after)
    for table, rows in names.items():
        matched = SequenceMatcher(a=rows, b=now.get(table, []), autojunk=False)
        for _, since, until, begins, ends in matched.get_opcodes():
            for was, place in zip_longest(range(since, until), range(begins, ends)):
                if was is not None:
                    places[f"{table}[{was}]"] = f"{table}[was {was}]" if place is None else f"{table}[{place}]"
    return {NUMBERED_ROW.sub(lambda row: places.get(row[0], row[0]), key): value for key, value in before.items()}


def _numbered_rows(values: Mapping[str, str]) -> dict[str, list[str]]:
    """Table → what names each of its rows without an id, in their order."""
    rows: dict[str, dict[str, list[str]]] = {}
    for key, value in values.items():
        row = NUMBERED_ROW.match(key)
        if row is not None and f"{row[0]}.id" not in values:  # an id may be a number too
            name = rows.setdefault(row[1], {}).setdefault(row[2], [])
            if key[row.end() + 1 :] in NAMING_KEYS:
                name.append(value)
    return {table: [" ".join(name) for name in named.values()] for table, named in rows.items()}


def _change(shown: str, key: str, before: Mapping[str, str], after: Mapping[str, str]) -> KeyChange:
    if shown == key:
        return KeyChange(key=key, before=_masked(before.get(key)), after=_masked(after.get(key)))
    was, now = _name_of_row(shown, before), _name_of_row(shown, after)
    return KeyChange(key=shown, before=was, after=now)


def _row_that_is_new(key: str, before: Mapping[str, str], after: Mapping[str, str]) -> str | None:
    """The outermost row of that key which stands on one side only."""
    for bracket in re.finditer(r"\]", key):
        row = key[: bracket.end()]
        if not _has_row(row, before) or not _has_row(row, after):
            return row
    return None


def _has_row(row: str, values: Mapping[str, str]) -> bool:
    return any(key == row or key.startswith((f"{row}.", f"{row}[")) for key in values)


def _name_of_row(row: str, values: Mapping[str, str]) -> str | None:
    """What a row that stands on one side only is called there."""
    inner = [values[key] for key in (f"{row}.name", f"{row}.text", f"{row}.input", f"{row}.id") if key in values]
    if not _has_row(row, values):
        return None
    return _masked(inner[0]) if inner else "there"


def _leaves(value: Any, key: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _leaves(inner, f"{key}.{name}" if key else str(name))
    elif isinstance(value, list) and value and all(isinstance(row, Mapping) for row in value):
        for index, row in enumerate(value):
            yield from _leaves(row, f"{key}[{row.get('id', index)}]")
    else:
        yield key, value


def _shown(key: str, value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    if SECRET_KEY.search(key) and text:
        return f"{MASK}#{_mark(text)}"
    passwords = (
        "".join(before + after for _, before, _, after in URL_PASSWORD.findall(text)) if key == "store.url" else ""
    )
    return f"{without_passwords(text)}#{_mark(passwords)}" if passwords else text


def _mark(secret: str) -> str:
    """Enough to see that it changed. The texts themselves stand in the store among those that were sent."""
    return hashlib.sha256(secret.encode()).hexdigest()[:8]


def _masked(shown: str | None) -> str | None:
    """Without the mark."""
    return None if shown is None else MARK.sub(r"\1", shown)
