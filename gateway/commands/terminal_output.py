"""Values → what a person reads in a terminal of 50 to 200 columns, lines for another program, or one JSON document."""

import json
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from datetime import datetime, tzinfo
from itertools import chain

from gateway.commands.standard_streams import carries_every_letter
from gateway.facts.harmless import harmless

SHOWN_EVERY = 0.02
"""Of the whole; how often the progress is written anew."""
COLUMNS = 80
"""Where no terminal says how wide it is."""
NARROWEST_COLUMNS, WIDEST_COLUMNS = 50, 200
GAP_COLUMNS = 2
ROWS_OF_A_HEADING = 2
LONGEST_WORD = 16
"""In columns: such words are not broken while there is room; dates and our own words are no longer."""
ROWS_BESIDE_A_LIST = 5
"""The command, the heading, what is said of more, and the prompt after it."""


def in_terminal() -> bool:
    """Whether a person looks on: not where the output goes into a file or another program."""
    return sys.stdout.isatty()


def terminal_columns() -> int:
    """How wide a line may be."""
    columns = shutil.get_terminal_size((COLUMNS, 0)).columns
    return min(max(columns, NARROWEST_COLUMNS), WIDEST_COLUMNS)


def terminal_rows() -> int:
    """How many lines are seen at once."""
    return shutil.get_terminal_size((COLUMNS, 24)).lines


def counted(count: int, thing: str) -> str:
    """`1 text`, `12,000 texts`."""
    return f"{count:,} {thing}{'' if count == 1 else 's'}"


def print_json(document: object) -> None:
    """One JSON document and nothing else."""
    json.dump(_harmless(document), sys.stdout, ensure_ascii=not carries_every_letter(), indent=2)
    sys.stdout.write("\n")


def print_json_line(row: object) -> None:
    """One document in one line."""
    sys.stdout.write(json.dumps(_harmless(row), ensure_ascii=not carries_every_letter()) + "\n")


def print_json_rows(key: str, rows: Iterable[object]) -> None:
    """`{"events": […]}`, row by row as they come: of many years there are more than memory should hold."""
    sys.stdout.write(f'{{\n  "{key}": [')
    between = "\n"
    for row in rows:
        document = json.dumps(_harmless(row), ensure_ascii=not carries_every_letter(), indent=2)
        sys.stdout.write(between + textwrap.indent(document, "    "))
        between = ",\n"
    sys.stdout.write("]\n}\n" if between == "\n" else "\n  ]\n}\n")


def print_listed(
    headings: Sequence[str], rows: Iterable[Sequence[object]], widths: Sequence[int], *, nothing: str
) -> None:
    """A long list: a table in a terminal; else one line a row as it comes, each cell whole and at least so wide."""
    rows = iter(rows)
    first = next(rows, None)
    if first is None:
        print(nothing)
    elif in_terminal():
        print_table(headings, [first, *rows])
    else:
        _print_lines(chain((headings, first), rows), widths)


def print_last_rows(headings: Sequence[str], rows: Sequence[Sequence[object]], *, nothing: str, more: str) -> None:
    """The last rows that the terminal shows at once, and how to see more."""
    if not rows:
        print(nothing)
        return
    room = max(terminal_rows() - ROWS_BESIDE_A_LIST, 1)
    shown = list(rows[-room:])
    while len(shown) > 1 and len(_table(headings, shown).split("\n")) - ROWS_OF_A_HEADING > room:
        del shown[0]
    print(_table(headings, shown))
    if len(shown) < len(rows):
        print_text(f"Only the last {len(shown)}; for more: tank-gateway {more}", before="\n")


def _print_lines(rows: Iterable[Sequence[object]], widths: Sequence[int]) -> None:
    from wcwidth import wcswidth  # as tabulate below

    for row in rows:
        cells = [_cell(value) for value in row]
        padded = [cell + " " * (width - wcswidth(cell)) for cell, width in zip(cells, widths, strict=True)]
        print((" " * GAP_COLUMNS).join(padded).rstrip())


def print_table(headings: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """A table as wide as the terminal at the most: where it is too wide the widest columns are wrapped."""
    print(_table(headings, rows))


def _table(headings: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    # Imported here: 14 ms and 1.5 MB, which `check` and every answer in JSON do without.
    import tabulate

    tabulate.MIN_PADDING = 0  # two columns more for each heading are a word less in a narrow terminal
    cells = [[_cell(value) for value in row] for row in rows]
    most = _most_columns(headings, cells, terminal_columns())
    # Without `disable_numparse` a text such as "0123" would be shown as the number 123.
    return tabulate.tabulate(
        cells,
        headers=headings,
        tablefmt="simple",
        maxcolwidths=most,
        maxheadercolwidths=most,
        disable_numparse=True,
    )


def _most_columns(headings: Sequence[str], rows: Sequence[Sequence[str]], columns: int) -> list[int]:
    """How wide each column may be: as it needs, or all that are wider as wide as leaves no line longer than that. No column is narrower
    than its longest word while that is possible: a date in two halves is read wrongly."""
    from wcwidth import wcswidth  # as tabulate above, which brings it

    by_column = list(zip(headings, *rows, strict=True))
    needs = [max(wcswidth(line) for cell in column for line in cell.split("\n")) for column in by_column]
    words = [max(wcswidth(word) for cell in column for word in cell.split() or [""]) for column in by_column]
    room = columns - GAP_COLUMNS * (len(needs) - 1)
    for whole in range(LONGEST_WORD, 0, -1):
        least = [min(word, whole) for word in words]
        for most in range(max(needs), 0, -1):
            widths = [max(min(need, most), low, 1) for need, low in zip(needs, least, strict=True)]
            if sum(widths) <= room:
                return widths
    return [1] * len(needs)


def print_text(text: str, *, label: str = "", before: str = "", after: str = "") -> None:
    """A paragraph as wide as the terminal may be; a `label` hangs in front of it."""
    filled = textwrap.fill(
        harmless(text),
        terminal_columns(),
        initial_indent=label,
        subsequent_indent=" " * len(label),
        break_on_hyphens=False,
    )
    print(f"{before}{filled}{after}")


def announce(what: str) -> None:
    """On a terminal's standard error, before what takes its time and cannot say how far it is; nothing where nobody looks."""
    if sys.stderr.isatty():
        print(what, file=sys.stderr, flush=True)


class Progress:
    """One line on a terminal's standard error, written over; nothing where nobody looks."""

    def __init__(self, what: str) -> None:
        self._what, self._shown = what, 0.0

    def __call__(self, share: float) -> None:
        """So much of the whole is done, 0 to 1."""
        if sys.stderr.isatty() and (share - self._shown >= SHOWN_EVERY or share >= 1 > self._shown):
            self._shown = share
            print(f"\r{share:4.0%} {self._what}", end="\n" if share >= 1 else "", file=sys.stderr, flush=True)


def local_time(at: datetime | None, zone: tzinfo) -> str:
    """Local time for a table: `2026-03-01 04:11`."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at else "-"


def _cell(value: object) -> str:
    """What is not known is a dash, so that a row has no hole in it."""
    return "-" if value is None or value == "" else harmless(str(value))


def _harmless(value: object) -> object:
    """The same with every text within it harmless: a text that came may hold what moves a terminal's cursor."""
    if isinstance(value, str):
        return harmless(value, lines=True)
    if isinstance(value, dict):
        return {key: _harmless(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_harmless(item) for item in value]
    return value
