"""The SIM's credit as the network said it last, and when to ask again.

States of the store: `credit:next` when to ask again; `credit:last` what came (`at`, `said`, `amount`, `why`).
"""

from dataclasses import dataclass
from datetime import datetime

from gateway.facts.moments import time_of
from gateway.ports import Reader
from gateway.site import Site

NEXT, LAST = "credit:next", "credit:last"


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditAnswer:
    """`said`: the network's words, None where no answer came; `amount`: None where none was found in them, and `why` not."""

    at: datetime
    said: str | None
    amount: float | None
    why: str


def last_credit(reader: Reader) -> CreditAnswer | None:
    """What came of the newest question; None where none was asked yet."""
    kept = reader.mark(LAST)
    if kept is None:
        return None
    return CreditAnswer(
        at=datetime.fromisoformat(kept["at"]), said=kept["said"], amount=kept["amount"], why=kept["why"]
    )


def credit_due(reader: Reader, site: Site, now: datetime) -> datetime | None:
    """When to ask the network; None: nobody wants it asked."""
    balance = site.settings.balance
    if not balance.ussd:
        return None
    at = time_of(reader.mark(NEXT)) or now
    # a time further off than the interval comes from a clock that was ahead, or from another file
    return now if at - now > balance.every else at
