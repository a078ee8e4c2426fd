"""Lines of the file that still say DECIDE → one warning: a person was asked something and has not answered.

In: the text of the file. Out: at most one problem, at the first such line; `suggest` writes these marks.
"""

import re

from gateway.errors import Problem
from gateway.settings.problems import Locate

_MARK = re.compile(r"#\s*DECIDE:")
_SHOWN = 6


def undecided(text: str, locate: Locate) -> list[Problem]:
    """The lines are named in one go."""
    lines = [number for number, line in enumerate(text.split("\n"), start=1) if _MARK.search(line)]
    if not lines:
        return []
    shown = ", ".join(map(str, lines[:_SHOWN])) + (" …" if len(lines) > _SHOWN else "")
    return [
        Problem(
            file=locate.file,
            line=lines[0],
            key="",
            found=f"lines {shown}" if len(lines) > 1 else f"line {shown}",
            wrong=f"{len(lines)} lines still say DECIDE ({shown})" if len(lines) > 1 else "this line still says DECIDE",
            right="read the sample above it, change the line if need be, and take the remark off",
            warning=True,
        )
    ]
