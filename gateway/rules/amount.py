r"""The network's answer about the SIM's credit → the amount, by the householder's pattern with its group `amount`.

`12.40`, `12,40`, `1 234,50`, `1.234,50`, `1,234.50`, `-3`: the last point or comma is the decimal one, unless exactly three digits
follow and it is the only one. A pattern that takes too long has found nothing, as with rules.
"""

import re

import regex

from gateway.rules.book import LIMIT_S
from gateway.rules.compiled import regex_wrong

GROUP = "amount"
_FLAGS = regex.IGNORECASE | regex.DOTALL
_NUMBER = re.compile(r"^([+\-−]?)(\d[\d., '\u00a0\u202f]*|[.,]\d+)$")
_THOUSANDS = re.compile(r"^[1-9]\d{0,2}[.,]\d{3}$")


def pattern_wrong(pattern: str) -> str:
    """Why the pattern cannot find an amount, or ''."""
    wrong = regex_wrong(pattern)
    if wrong:
        return wrong
    return "" if GROUP in regex.compile(pattern, _FLAGS).groupindex else f"it has no group named {GROUP}"


def amount_in(pattern: str, said: str, *, limit_s: float = LIMIT_S) -> float | None:
    """The amount, or None where the pattern does not fit, takes too long, or finds no number."""
    try:
        found = regex.search(pattern, said, _FLAGS, timeout=limit_s)
    except TimeoutError:
        return None
    return None if found is None or found[GROUP] is None else money(found[GROUP])


def money(said: str) -> float | None:
    """A number as people write amounts."""
    found = _NUMBER.match(said.strip().rstrip(".,"))
    if found is None:
        return None
    digits = re.sub(r"[\s']", "", found[2])
    last = max(digits.rfind("."), digits.rfind(","))
    if last >= 0 and not _THOUSANDS.match(digits) and digits.count(digits[last]) == 1:
        whole, part = re.sub(r"[.,]", "", digits[:last]), digits[last + 1 :]
        digits = f"{whole or 0}.{part}"
    else:
        digits = re.sub(r"[.,]", "", digits)
    return float(digits) * (1 if found[1] in ("", "+") else -1)
