"""A file of sample texts, line by line → samples with their labels.

In: `label<TAB>text`, bare texts, the CSV of `import` (`received_at,sender,text`, perhaps with a `label`), or a chat as a
phone copies it (`gateway.suggest.chats`). Labels: `input 1 active`, `input spring idle`, `alive`, `power-lost`,
`power-back`, `ignore`.
Out: samples in order; a line whose label cannot be read is said in `odd` and taken as a bare text.
"""

import csv
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass

import regex

from gateway.facts import FloatState, Means, input_key
from gateway.suggest.chats import strip_chat, strip_fronts

_INPUT = regex.compile(r"input\s+(?P<input>\S.*?)\s+(?P<state>active|idle)", regex.IGNORECASE)
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
        return f"input {self.input} {self.state}" if self.means == "input" else self.means


@dataclass(frozen=True, slots=True)
class Sample:
    """One text, single-spaced, and its label, if it has one."""

    text: str
    label: Label | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleFile:
    """`opening`: what a rule begins with where something stood in front that may or may not belong to the texts."""

    samples: tuple[Sample, ...]
    odd: tuple[str, ...] = ()
    opening: str = ""


def read_samples(lines: Sequence[str]) -> SampleFile:
    """Lines of a sample file → its samples: finds out which kind of file it is and reads it."""
    kept = [line.rstrip("\r\n").replace("\r", " ").replace("\n", " ") for line in lines]
    filled = [line for line in kept if line.strip()]
    if not filled:
        return SampleFile(samples=())
    delimiter = next((mark for mark in ",;\t" if "text" in _header(filled[0], mark)), None)
    if delimiter is not None:
        return _from_csv(kept, _header(filled[0], delimiter), delimiter)
    if any("\t" in line and parse_label(line.split("\t", 1)[0]) for line in filled):
        return _from_labelled(filled)
    chat = strip_chat([line.strip() for line in filled])
    samples = tuple(Sample(_spaced(text)) for text in chat.texts if text.strip())
    return SampleFile(samples=samples, odd=chat.notes, opening=chat.opening)


def parse_label(text: str) -> Label | None:
    """What a person wrote as a label → the label; None where it is none."""
    bare = " ".join(text.split()).strip(":")
    match = _INPUT.fullmatch(bare)
    if match:
        state: FloatState = "active" if match.group("state").casefold() == "active" else "idle"
        return Label("input", input_key(match.group("input")), state)
    means = _PLAIN_LABELS.get(bare.casefold().replace(" ", "-"))
    return Label(means) if means else None


def _header(line: str, mark: str) -> list[str]:
    """The column names of a CSV whose cells `mark` parts; none where the line is no such header."""
    cells = line.lstrip("\ufeff").split(mark)
    return [cell.strip().strip('"').casefold() for cell in cells] if len(cells) > 1 else []


def _from_labelled(lines: Sequence[str]) -> SampleFile:
    samples, odd = [], []
    for line in lines:
        before, tab, after = line.partition("\t")
        label = parse_label(before) if tab else None
        if label is None and tab and _LABEL_LIKE.fullmatch(before.strip()):
            odd.append(f"'{before.strip()}' is no label (in front of '{_spaced(after)}')")
            samples.append(Sample(_spaced(after)))
        elif label is None:
            samples.append(Sample(_spaced(line)))
        else:
            samples.append(Sample(_spaced(after), label))
    texts, stripped = strip_fronts([sample.text for sample in samples])
    bare = [Sample(text, sample.label) for text, sample in zip(texts, samples, strict=True)]
    return SampleFile(
        samples=tuple(sample for sample in bare if sample.text), odd=tuple(odd), opening="* " if stripped else ""
    )


def _from_csv(lines: Sequence[str], header: Sequence[str], mark: str) -> SampleFile:
    text_at = header.index("text")
    label_at = header.index("label") if "label" in header else None
    samples = []
    rows = csv.reader([f"{line}\n" for line in lines], delimiter=mark)
    next(rows, None)
    for row in _readable(rows):
        if len(row) <= text_at or not row[text_at].strip():
            continue
        label = parse_label(row[label_at]) if label_at is not None and len(row) > label_at else None
        samples.append(Sample(_spaced(row[text_at]), label))
    return SampleFile(samples=tuple(samples))


def _readable(rows: Iterator[list[str]]) -> Iterator[list[str]]:
    """Rows up to the first that is no CSV."""
    with suppress(csv.Error):
        yield from rows


def _spaced(text: str) -> str:
    return " ".join(text.split())
