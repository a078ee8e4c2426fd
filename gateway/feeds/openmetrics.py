"""Metric families → OpenMetrics text.

Source: OpenMetrics 1.0 (prometheus/docs, "OpenMetrics"): a family's lines stand together, TYPE and UNIT before its samples, a unit is the
name's ending, counters end in _total, the text ends with `# EOF`; no blank lines, no time stamps.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

ESCAPES = str.maketrans({"\\": r"\\", "\n": r"\n", '"': r"\""})
BEGINS = b"# TYPE "
SUFFIX = {"counter": "_total", "info": "_info"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One figure. `labels` tell it from the others of its family."""

    value: float
    labels: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Figures of one kind. `unit` is the ending of `name`; `created`: since when a counter counts, in seconds since 1970."""

    name: str
    type: Literal["gauge", "counter", "info", "stateset"]
    help: str
    samples: tuple[Sample, ...]
    unit: str = ""
    created: float | None = None


def openmetrics_text(families: tuple[Family, ...]) -> str:
    """The whole file; a family without a figure is left out."""
    lines = [line for family in families if family.samples for line in _lines(family)]
    return "\n".join([*lines, "# EOF", ""])


def is_metrics(file: Path) -> bool:
    """Whether that file is one that was made here."""
    with file.open("rb") as there:
        return there.read(len(BEGINS)) == BEGINS


def _lines(family: Family) -> list[str]:
    lines = [f"# TYPE {family.name} {family.type}"]
    if family.unit:
        lines.append(f"# UNIT {family.name} {family.unit}")
    lines.append(f"# HELP {family.name} {family.help.translate(ESCAPES)}")
    for sample in family.samples:
        lines.append(_sample(f"{family.name}{SUFFIX.get(family.type, '')}", sample.labels, sample.value))
        if family.created is not None:
            lines.append(_sample(f"{family.name}_created", sample.labels, family.created))
    return lines


def _sample(name: str, labels: Mapping[str, str], value: float) -> str:
    shown = ",".join(f'{label}="{said.translate(ESCAPES)}"' for label, said in labels.items())
    return f"{name}{{{shown}}} {value:.15g}" if shown else f"{name} {value:.15g}"
