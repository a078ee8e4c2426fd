"""What OpenMetrics 1.0 demands of a text, checked line by line: also what the published parser lets pass (a sample given twice, an end
without its newline). Each mistake in words."""

import re
from collections.abc import Iterator

from prometheus_client.openmetrics.parser import text_string_to_metric_families

SAMPLE = re.compile(r'([a-zA-Z_:][\w:]*)(\{(?:[a-zA-Z_]\w*="(?:[^"\\\n]|\\["\\n])*",?)*\})? (\S+)')
ENDINGS = ("_total", "_created", "_info")


def parsed(text: str) -> dict[str, dict[tuple[tuple[str, str], ...], float]]:
    """By the published parser: sample name → labels → value. Raises ValueError for what it refuses, and for what it should have refused."""
    wrong = list(mistakes(text))
    if wrong:
        raise ValueError("; ".join(wrong))
    found: dict[str, dict[tuple[tuple[str, str], ...], float]] = {}
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            found.setdefault(sample.name, {})[tuple(sorted(sample.labels.items()))] = sample.value
    return found


def mistakes(text: str) -> Iterator[str]:
    """What the standard forbids and the parser may let pass."""
    if not text.endswith("\n# EOF\n"):
        yield "the end is not `# EOF` and a newline"
    seen: set[tuple[str, str]] = set()
    declared: dict[str, str] = {}
    for line in text.splitlines()[:-1]:
        if line.startswith("# "):
            _, word, name, said = line.split(" ", 3)
            if word == "TYPE":
                declared[name] = said
            continue
        sample = SAMPLE.fullmatch(line)
        if sample is None:
            yield f"no sample without a time stamp: {line}"
            continue
        name, labels = sample[1], ",".join(sorted((sample[2] or "").strip("{}").split(",")))
        if (name, labels) in seen:
            yield f"given twice: {line}"
        seen.add((name, labels))
        if not any(name == family or name in (f"{family}{end}" for end in ENDINGS) for family in declared):
            yield f"of no declared family: {line}"
