"""The SIM's credit as the network said it last, and when to ask again.

States of the store: `credit:next` when to ask again; `credit:last` what came (`at`, `said`, `amount`, `why`).
"""

from datetime import datetime

from gateway.facts.moments import time_of
from gateway.ports import Reader
from gateway.site import Site

NEXT, LAST = "credit:next", "credit:last"


def credit_due(reader: Reader, site: Site, now: datetime) -> datetime | None:
    """When to ask the network; None: nobody wants it asked."""
    balance = site.settings.balance
    if not balance.ussd:
        return None
    at = time_of(reader.mark(NEXT)) or now
    # a time further off than the interval comes from a clock that was ahead, or from another file
    return now if at - now > balance.every else at
