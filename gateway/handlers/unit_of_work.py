"""One transaction at one time in a site: what every handler works with."""

from dataclasses import dataclass
from datetime import datetime

from gateway.ports import Transaction
from gateway.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitOfWork:
    """One transaction at one time. `trusted`: our wall clock can be right. `imported`: old texts, nobody is told.

    `unanswered`: whoever asks talks like a machine and gets no answer.
    """

    tx: Transaction
    site: Site
    now: datetime
    trusted: bool = True
    imported: bool = False
    unanswered: bool = False
