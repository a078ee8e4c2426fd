"""Values → what a person reads in a terminal of 80 columns, or one JSON document."""

import json
import sys
import textwrap
from collections.abc import Sequence
from datetime import datetime, tzinfo

from gateway.commands.standard_streams import carries_every_letter
from gateway.facts.harmless import harmless

WIDTH_COLUMNS = 80
SHOWN_EVERY = 0.02
"""Of the whole; how often the progress is written anew."""


def print_json(document: object) -> None:
    """One JSON document and nothing else."""
    json.dump(_harmless(document), sys.stdout, ensure_ascii=not carries_every_letter(), indent=2)
    sys.stdout.write("\n")


def print_table(headings: Sequence[str], rows: Sequence[Sequence[object]], *, widths: Sequence[int | None]) -> None:
    """A plain table; `widths` are the most columns each may take (None: as it needs)."""
    # Imported here: 14 ms and 1.5 MB, which `check` and every answer in JSON do without.
    from tabulate import tabulate

    cells = [[_cell(value) for value in row] for row in rows]
    # Without `disable_numparse` a text such as "0123" would be shown as the number 123.
    print(tabulate(cells, headers=headings, tablefmt="simple", maxcolwidths=list(widths), disable_numparse=True))


def print_text(text: str, *, label: str = "", before: str = "", after: str = "") -> None:
    """A paragraph as wide as the terminal may be; a `label` hangs in front of it."""
    filled = textwrap.fill(
        harmless(text),
        WIDTH_COLUMNS,
        initial_indent=label,
        subsequent_indent=" " * len(label),
        break_on_hyphens=False,
    )
    print(f"{before}{filled}{after}")


class Progress:
    """One line on a terminal's standard error, written over; nothing where nobody looks."""

    def __init__(self, what: str) -> None:
        self._what, self._shown = what, 0.0

    def __call__(self, share: float) -> None:
        """So much of the whole is done, 0 to 1."""
        if sys.stderr.isatty() and (share - self._shown >= SHOWN_EVERY or share >= 1):
            self._shown = share
            print(f"\r{share:4.0%} {self._what}", end="\n" if share >= 1 else "", file=sys.stderr, flush=True)


def local_time(at: datetime | None, zone: tzinfo) -> str:
    """Local time for a table: `2026-03-01 04:11`."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at else "-"


def iso_time(at: datetime | None, zone: tzinfo) -> str | None:
    """ISO 8601 with the site's offset, for JSON."""
    return at.astimezone(zone).isoformat() if at else None


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
