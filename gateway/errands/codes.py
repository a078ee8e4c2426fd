"""The code of four digits that confirms an errand which sets or switches: made for one contact, good once, for five minutes."""

import secrets
from datetime import datetime, timedelta

from gateway.facts.states.errands_and_tests import ErrandCode

CODE_HOLDS = timedelta(minutes=5)
DIGITS = 4


def new_code(before: str | None) -> str:
    """Four digits that nobody can guess, and never those that the same contact had before: an old text could then confirm anew."""
    while True:
        code = f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"
        if code != before:
            return code


def confirms(kept: ErrandCode | None, said: str, took: timedelta, now: datetime) -> bool:
    """Whether what the contact says confirms what was asked of them. `took`: how long the network had the text; one that took long is
    none, for whoever wrote it may have left by now."""
    if kept is None or kept.used or said != kept.code or kept.made_at > now:
        return False
    return now < kept.made_at + CODE_HOLDS and took < CODE_HOLDS
