"""A file of texts, line by line → the texts, with what stands beside them: label, time, sender.

The one reader behind `suggest`, `explain` and `import`. In: `label<TAB>text`, bare texts, a CSV with headings (parted by comma,
semicolon or tab: of `import`, of a spreadsheet), or a chat as a phone copies it (`gateway.suggest.chats`). Labels: `input 1 active`,
`input spring idle`, `level 1`, `alive`, `power-lost`, `power-back`, `reading`, `ignore`; `?`: nobody knows; `=`: as the line above.
Out: texts in order; a line whose label cannot be read is said in `odd` and taken as a bare text.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Literal

import regex

from gateway.facts import FloatState, Means, input_key
from gateway.suggest.chats import Front, lines_of_texts, strip_chat, strip_fronts

Column = Literal["text", "at", "sender", "label"]
_INPUT = regex.compile(r"input\s+(?P<input>\S.*?)\s+(?P<state>active|idle)", regex.IGNORECASE)
_LEVEL = regex.compile(r"level\s+(?P<input>\S.*)", regex.IGNORECASE)
_PLAIN_LABELS: dict[str, Means] = {
    "alive": "alive",
    "power-lost": "power-lost",
    "power-back": "power-back",
    "reading": "reading",
    "ignore": "ignore",
}
_LABEL_LIKE = regex.compile(r"[A-Za-z][\w -]{0,40}")


@dataclass(frozen=True, slots=True)
class Label:
    """What the person says a text means; `input` in its compared form."""

    means: Means
    input: str | None = None
    state: FloatState | None = None

    def __str__(self) -> str:
        if self.means == "level":
            return f"level {self.input}"
        return f"input {self.input} {self.state}" if self.means == "input" else self.means


UNKNOWN_LABEL, SAME_LABEL = "?", "="
MARKS = ",;\t"
"""What may part the cells of a table."""
FORM_TO_FILL_IN = "# What do these texts mean?"
"""How the file begins that `suggest` prints to be labelled: there, lines with "#" are no texts."""
HEADINGS: Mapping[Column, frozenset[str]] = {
    "text": frozenset({
        "text", "message", "body", "content", "nachricht", "mensaje", "texto", "mensaje de texto", "текст", "повідомлення",
    }),
    "at": frozenset({
        "received_at", "received", "at", "time", "date", "datetime", "timestamp", "date/time", "date and time", "when", "zeit", "datum",
        "datum/zeit", "zeitstempel", "fecha", "hora", "fecha y hora", "дата", "час",
    }),
    "sender": frozenset({
        "sender", "from", "number", "phone", "address", "absender", "von", "nummer", "remitente", "de", "número",
        "numero", "від", "номер",
    }),
    "label": frozenset({"label", "means", "bedeutung", "significado"}),
}  # fmt: skip
"""What a column may be called."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One text, single-spaced, and its label, if it has one; `asked`: somebody was asked what it means, and does not know."""

    text: str
    label: Label | None = None
    asked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What stood beside a text, as written: its time (`day` and `clock` may be one and the same), its sender; its line; the text as it was."""

    line: int
    text: str
    day: str = ""
    clock: str = ""
    sender: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleFile:
    """`opening`: what a rule begins with where something stood in front that may or may not belong to the texts.

    `beside`: of each sample, in their order; empty where the file tells nothing beside its texts.
    """

    samples: tuple[Sample, ...]
    odd: tuple[str, ...] = ()
    opening: str = ""
    beside: tuple[Beside, ...] = ()


def read_samples(lines: Sequence[str]) -> SampleFile:
    """Lines of a file → its texts: finds out which kind of file it is and reads it."""
    kept = [line.rstrip("\r\n").replace("\r", " ").replace("\n", " ") for line in lines]
    filled = [line for line in kept if line.strip()]
    if not filled:
        return SampleFile(samples=())
    if filled[0].startswith(FORM_TO_FILL_IN):
        return _from_labelled([line for line in filled if not line.startswith("#")])
    table = table_form(filled[0])
    if table is not None and "text" in table[1]:
        return _from_csv(kept, *table)
    if any("\t" in line and _is_label(line.split("\t", 1)[0]) for line in filled):
        return _from_labelled(filled)
    chat = strip_chat([line.strip() for line in filled])
    texts = [(text, place) for place, text in enumerate(chat.texts) if text.strip()]
    places = lines_of_texts([text for text, _ in texts], kept) if chat.fronts else ()
    beside = tuple(
        _of_front(chat.fronts[place], line, text) for (text, place), line in zip(texts, places, strict=bool(places))
    )
    samples = tuple(Sample(_spaced(text)) for text, _ in texts)
    return SampleFile(samples=samples, odd=chat.notes, opening=chat.opening, beside=beside)


def _of_front(front: Front, line: int, text: str) -> Beside:
    return Beside(line=line, text=text, day=front.date, clock=front.clock, sender=front.name)


def _is_label(before: str) -> bool:
    return before.strip() in (UNKNOWN_LABEL, SAME_LABEL) or parse_label(before) is not None


def parse_label(text: str) -> Label | None:
    """What a person wrote as a label → the label; None where it is none."""
    bare = " ".join(text.split()).strip(":")
    match = _INPUT.fullmatch(bare)
    if match:
        state: FloatState = "active" if match.group("state").casefold() == "active" else "idle"
        return Label("input", input_key(match.group("input")), state)
    level = _LEVEL.fullmatch(bare)
    if level:
        return Label("level", input_key(level.group("input")))
    means = _PLAIN_LABELS.get(bare.casefold().replace(" ", "-"))
    return Label(means) if means else None


def table_form(header: str) -> tuple[str, dict[Column, int]] | None:
    """The mark that parts the cells of a table, and which column holds what; None where the line is no header: that names the
    texts, or two of the other columns."""
    forms = ((mark, columns_of(header, mark)) for mark in MARKS)
    return next(((mark, columns) for mark, columns in forms if "text" in columns or len(columns) > 1), None)


def columns_of(line: str, mark: str) -> dict[Column, int]:
    """Which column holds what, of a CSV whose cells `mark` parts; none where the line is no such header."""
    cells = line.lstrip("\ufeff").split(mark)
    names = [cell.strip().strip('"').casefold() for cell in cells] if len(cells) > 1 else []
    found: dict[Column, int] = {}
    for place, name in enumerate(names):
        column = next((column for column, called in HEADINGS.items() if name in called and column not in found), None)
        if column is not None:
            found[column] = place
    return found


def _from_labelled(lines: Sequence[str]) -> SampleFile:
    samples: list[Sample] = []
    odd: list[str] = []
    for line in lines:
        before, tab, after = line.partition("\t")
        label = parse_label(before) if tab else None
        if tab and before.strip() == SAME_LABEL and samples:
            samples.append(Sample(_spaced(after), samples[-1].label, samples[-1].asked))
        elif tab and before.strip() == UNKNOWN_LABEL:
            samples.append(Sample(_spaced(after), asked=True))
        elif label is None and tab and _LABEL_LIKE.fullmatch(before.strip()):
            odd.append(f"'{before.strip()}' is no label (in front of '{_spaced(after)}')")
            samples.append(Sample(_spaced(after)))
        elif label is None:
            samples.append(Sample(_spaced(line)))
        else:
            samples.append(Sample(_spaced(after), label))
    texts, stripped = strip_fronts([sample.text for sample in samples])
    bare = [replace(sample, text=text) for text, sample in zip(texts, samples, strict=True)]
    return SampleFile(
        samples=tuple(sample for sample in bare if sample.text), odd=tuple(odd), opening="* " if stripped else ""
    )


def beside_in(columns: Mapping[Column, int], cells: Sequence[str], line: int) -> Beside:
    """One row of a table: its text, and what stands beside it."""
    at, sender, text = (cell_of(columns, cells, column) for column in ("at", "sender", "text"))
    return Beside(line=line, text=text, day=at, clock=at, sender=sender)


def cell_of(columns: Mapping[Column, int], cells: Sequence[str], column: Column) -> str:
    """Empty where the row or the table has none."""
    place = columns.get(column)
    return cells[place].strip() if place is not None and place < len(cells) else ""


def _from_csv(lines: Sequence[str], mark: str, columns: Mapping[Column, int]) -> SampleFile:
    samples, beside = [], []
    rows = csv.reader([f"{line}\n" for line in lines], delimiter=mark)
    next(rows, None)
    for cells in _readable(rows):
        of_row = beside_in(columns, cells, rows.line_num)
        if of_row.text:
            samples.append(Sample(_spaced(of_row.text), parse_label(cell_of(columns, cells, "label"))))
            beside.append(of_row)
    return SampleFile(samples=tuple(samples), beside=tuple(beside) if "at" in columns or "sender" in columns else ())


def _readable(rows: Iterator[list[str]]) -> Iterator[list[str]]:
    """Rows up to the first that is no CSV."""
    with suppress(csv.Error):
        yield from rows


def _spaced(text: str) -> str:
    return " ".join(text.split())
