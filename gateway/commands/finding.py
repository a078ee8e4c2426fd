"""One thing that `doctor` looked at: what it is, whether that is right, what was found, what helps."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """`right` True, False, or None for unknown; `do` is what helps."""

    what: str
    right: bool | None
    said: str
    do: str = ""
