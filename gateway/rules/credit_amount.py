r"""The network's answer about the SIM's credit → the amount, by the householder's pattern with its group `amount`.

`12.40`, `12,40`, `1 234,50`, `1.234,50`, `1,234.50`, `-3`: the last point or comma is the decimal one, unless exactly three digits
follow and it is the only one. A pattern that takes too long has found nothing, as with rules.
"""

import re

import regex

from gateway.rules.compiled_rule import RULE_LIMIT_S, regex_mistake

GROUP = "amount"
_FLAGS = regex.IGNORECASE | regex.DOTALL
_NUMBER = re.compile(r"^([+\-−]?)(\d[\d., '\u00a0\u202f]*|[.,]\d+)$")
_THOUSANDS = re.compile(r"^[1-9]\d{0,2}[.,]\d{3}$")


def amount_pattern_mistake(pattern: str) -> str:
    """Why the pattern cannot find an amount, or ''."""
    mistake = regex_mistake(pattern)
    if mistake:
        return mistake
    return "" if GROUP in regex.compile(pattern, _FLAGS).groupindex else f"it has no group named {GROUP}"


def find_amount(pattern: str, answer: str, *, limit_s: float = RULE_LIMIT_S) -> float | None:
    """The amount in the network's answer, or None where the pattern does not fit, takes too long, or finds no number."""
    try:
        match = regex.search(pattern, answer, _FLAGS, timeout=limit_s)
    except TimeoutError:
        return None
    return None if match is None or match[GROUP] is None else parse_amount(match[GROUP])


def parse_amount(written: str) -> float | None:
    """An amount as people write it → the number; None where it is none."""
    match = _NUMBER.match(written.strip().rstrip(".,"))
    if match is None:
        return None
    digits = re.sub(r"[\s']", "", match[2])
    last_sign = max(digits.rfind("."), digits.rfind(","))
    if last_sign >= 0 and not _THOUSANDS.match(digits) and digits.count(digits[last_sign]) == 1:
        whole, decimals = re.sub(r"[.,]", "", digits[:last_sign]), digits[last_sign + 1 :]
        digits = f"{whole or 0}.{decimals}"
    else:
        digits = re.sub(r"[.,]", "", digits)
    return float(digits) if match[1] in ("", "+") else -float(digits)
