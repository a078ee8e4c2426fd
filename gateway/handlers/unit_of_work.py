"""One transaction at one time in a site: what every handler works with."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from gateway.facts import Event, EventKind
from gateway.ports import Transaction
from gateway.site import Site
from gateway.status.adopted import site_with_adopted


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitOfWork:
    """One transaction at one time. `trusted`: our wall clock can be right; `synchronised`: it
    follows a time server, as far as the system tells. `imported`: old texts, nobody is told.

    `unanswered`: whoever asks talks like a machine and gets no reply.
    """

    tx: Transaction
    site: Site
    now: datetime
    trusted: bool = True
    synchronised: bool = False
    imported: bool = False
    unanswered: bool = False

    def event(
        self,
        kind: EventKind,
        detail: Mapping[str, Any] | None = None,
        *,
        at: datetime | None = None,
        tank: str | None = None,
        controller: str | None = None,
        input: str | None = None,
        text: str | None = None,
        sender: str | None = None,
    ) -> Event:
        """An event that is learnt now and not stored yet; `at`: when it happened, if that was not now."""
        happened = self.now if at is None else at
        return Event(
            kind=kind,
            at=happened,
            heard_at=self.now,
            known_at=happened if self.imported else self.now,  # an old text could have been known when it came
            tank=tank,
            controller=controller,
            input=input,
            text=text,
            sender=sender,
            detail={} if detail is None else detail,
        )


def unit_of_work(
    tx: Transaction,
    site: Site,
    now: datetime,
    *,
    trusted: bool = True,
    synchronised: bool = False,
    imported: bool = False,
) -> UnitOfWork:
    """A unit in whose site the adopted numbers count: what is sent or read otherwise meets the old number."""
    site = site_with_adopted(tx, site)
    return UnitOfWork(tx=tx, site=site, now=now, trusted=trusted, synchronised=synchronised, imported=imported)
