"""`python -m tests.faults.counted FILE …`: what `--counts FILE` kept → a Markdown table, row by row: trials and failures.

A fault injected by several tests is counted over all of them; a test that does not say how often it does so counts once.
"""

import json
import sys
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path


def table(lines: Iterable[str]) -> str:
    """Rows in order."""
    trials: defaultdict[int, int] = defaultdict(int)
    failures: defaultdict[int, int] = defaultdict(int)
    for line in lines:
        seen = json.loads(line)
        trials[seen["row"]] += seen["trials"]
        failures[seen["row"]] += seen["outcome"] == "failed"
    rows = [f"| {row} | {trials[row]:,} | {failures[row]} |" for row in sorted(trials)]
    return "\n".join(["| row | trials | failures |", "| --- | --- | --- |", *rows]) + "\n"


if __name__ == "__main__":
    print(table(line for file in sys.argv[1:] for line in Path(file).read_text("utf-8").splitlines()), end="")
