"""The store fails → what could not be stored is kept for later, the household is told past the store, and it goes on or ends.

A full disk heals when somebody makes room: the gateway stays and goes on by itself. A disk that is read-only or failing does
not: it ends non-zero, so that systemd starts it anew (and a board that remounts its card gets another chance). So it does where, after
a server's store was away, another gateway works for the site by now. Either way the
`gateway` contacts get one message straight through the modem, for nothing can be put into the outbox; SendJobs of these have
ids below zero. Texts stay on the SIM meanwhile.
"""

from dataclasses import replace

from gateway.errors import StoreDamaged, StoreFull, StoreHeld, StoreTrouble, StoreUnwritable
from gateway.ports import Clock, Condition, Listed, Modem, ModemLost, ModemReady, SendEnded, SendJob
from gateway.service.journal import Journal
from gateway.site import Site

Kept = SendEnded | ModemLost | ModemReady | Condition | Listed
"""News that is said only once, of a listing what stands in no slot. A sweep finds the others again, and the inbound queue keeps what was
freed."""

MOST_KEPT = 200
AWAY_TOLD_S = 300.0
"""A server that is away (or hangs) for longer is told of: meanwhile no text is read."""
FULL_SETTLES_S = 60.0
"""So soon after a disk was full an I/O error is of that: SQLite calls it one, and by the time it is looked at there may be room again."""
FAREWELL_S = 20.0
"""So long the gateway waits for the modem's answers before it ends."""


class StoreOutage:
    """Whether the store works (`reason`: why not, in words), and what waits for it. `ends`: it does not heal by itself."""

    def __init__(self, modem: Modem, clock: Clock, journal: Journal) -> None:
        self._modem, self._clock, self._journal = modem, clock, journal
        self.reason: str | None = None
        self.ends = False
        self._kept: list[Kept] = []
        self._unanswered: set[int] = set()
        self._ends_by_s = self._began_s = 0.0
        self._full_s = float("-inf")
        self._job_count = 0

    def begins(self, trouble: StoreTrouble, item: object, site: Site, *, modem_ready: bool) -> None:
        """The store failed while this item was handled."""
        self.keep(item)
        if self.reason is None:
            self._journal("store-trouble", said=trouble.said)
            self._journal.tell(
                "store-trouble", f"Nothing can be kept: {trouble.said}; what comes stays on the SIM until it can"
            )
        now_s = self._clock.monotonic()
        if isinstance(trouble, StoreFull):
            self._full_s = now_s
        was_full = isinstance(trouble, StoreUnwritable) and now_s - self._full_s < FULL_SETTLES_S
        if isinstance(trouble, StoreUnwritable | StoreDamaged | StoreHeld) and not was_full and not self.ends:
            self.ends = True
            self._ends_by_s = now_s + FAREWELL_S
        self._began_s = now_s if self.reason is None else self._began_s
        lasting = self.ends or isinstance(trouble, StoreFull) or now_s - self._began_s >= AWAY_TOLD_S
        if lasting and modem_ready and not self._job_count:
            self._tell_past_the_store(site, _label_of(trouble))
        self.reason = trouble.said

    def keep(self, item: object) -> None:
        """Until the store works, if nobody else has it."""
        if isinstance(item, Listed):
            shown = tuple(held for held in item.held if held.slot is None)
            item = replace(item, held=shown, complete=False) if shown else None
        if isinstance(item, Kept) and len(self._kept) < MOST_KEPT:
            self._kept.append(item)

    def answered(self, job: int) -> None:
        """The modem ended one of our own messages."""
        self._unanswered.discard(job)

    @property
    def over(self) -> bool:
        """It ends, and everybody was told or the time for that is up."""
        return self.ends and (not self._unanswered or self._clock.monotonic() >= self._ends_by_s)

    def heal(self) -> list[Kept]:
        """The store works again: what must be handled once more, in order."""
        kept, self._kept = self._kept, []
        self.reason, self._job_count = None, 0
        return kept

    def _tell_past_the_store(self, site: Site, label: str) -> None:
        values = {"why": site.phrases.label(label)}
        for contact in site.settings.contacts:
            if "gateway" not in contact.about:
                continue
            segments = site.segments
            text = site.phrases.message("store-trouble", values, segments=segments, line=contact.line)
            self._job_count += 1
            job = SendJob(id=-self._job_count, number=contact.number, text=text, reference=0, want_report=False)
            self._unanswered.add(job.id)
            self._modem.send(job)
        self._journal("told-past-the-store", messages=self._job_count)


def _label_of(trouble: StoreTrouble) -> str:
    if isinstance(trouble, StoreHeld):
        return "store-held"
    if isinstance(trouble, StoreFull):
        return "store-full"
    return "store-fails" if isinstance(trouble, StoreUnwritable | StoreDamaged) else "store-away"
