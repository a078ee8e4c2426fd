"""The SIM's credit as the network said it last, and when to ask again."""

from datetime import datetime

from gateway.facts.states import CreditAnswer, CreditDue
from gateway.ports import Reader
from gateway.site import Site


def last_credit(reader: Reader) -> CreditAnswer | None:
    """What came of the newest question; None where none was asked yet."""
    return reader.state(CreditAnswer)


def credit_due(reader: Reader, site: Site, now: datetime) -> datetime | None:
    """When to ask the network; None: nobody wants it asked."""
    balance = site.settings.balance
    if not balance.ussd:
        return None
    due = reader.state(CreditDue)
    # a time further off than the interval comes from a clock that was ahead, or from another file
    return now if due is None or due.at - now > balance.every else due.at
