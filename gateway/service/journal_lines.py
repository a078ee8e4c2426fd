"""What happened, as a person tells it: one line for each event and one for each message that left, as they stand on record.

Ridge box: LINE 1 MADE 0717 → House tank went low
told Wren (delivered 07:19): House tank LOW Wed 07:17. …
"""

import re
from datetime import datetime, timedelta

from gateway.facts import Event, Message
from gateway.ports import Clock, Reader, Store
from gateway.service.journal import Journal
from gateway.site import Site
from gateway.status.event_sentence import cut_text, event_sentence, why_said

AT_ONCE = 50
"""Events told at one look; whoever stores more at once (an import) has told of it himself."""
MOST_FOLLOWED = 20
REPORT_WITHIN = timedelta(minutes=2)
"""So long a message that was sent waits to be told as delivered."""
NUMBER = re.compile(r"(?<![\d+])\+?\d(?:\d| (?=\d)){6,16}(?!\d)")
"""A number as it is dialled or kept, also in groups."""


class Story:
    """The daemon's own account, told to its journal."""

    def __init__(self, store: Store, journal: Journal, clock: Clock) -> None:
        self._store, self._journal, self._clock = store, journal, clock
        self._last_told: int | None = None
        self._followed: dict[int, datetime] = {}

    def begin(self) -> None:
        """What was before is not told again."""
        with self._store.read() as reader:
            self._last_told = reader.last_id("events")

    def follow(self, message: int) -> None:
        """It was handed over: what becomes of it is told."""
        if message > 0 and len(self._followed) < MOST_FOLLOWED:
            self._followed.setdefault(message, self._clock.now())

    def go_on(self, site: Site) -> None:
        """What is new."""
        if self._last_told is None:
            return
        with self._store.read() as reader:
            events = reader.events_after(self._last_told, limit=AT_ONCE)
            for event in events:
                self._journal.tell(event.kind, masked(_event_line(site, event)))
                self._last_told = event.id
            if len(events) == AT_ONCE:
                self._last_told = reader.last_id("events")
                self._journal.tell("more", "more was stored at once: tank-gateway history")
            for message, since in list(self._followed.items()):
                self._tell_message(reader, site, message, since)

    def _tell_message(self, reader: Reader, site: Site, id: int, since: datetime) -> None:
        message, now = reader.message(id), self._clock.now()
        became = _became(message, site, since, now) if message is not None else ""
        if became is None:
            return
        del self._followed[id]
        if message is not None and became:
            who = site.contact_name(message.contact) if message.contact else f"…{message.number[-3:]}"
            self._journal.tell("told", masked(f"{became.format(who=who)}: {cut_text(message.text)}"))


def masked(text: str) -> str:
    """The text with no more of a number than its last three figures."""
    return NUMBER.sub(lambda found: f"…{found[0][-3:]}", text)


def _event_line(site: Site, event: Event) -> str:
    sentence, why = event_sentence(site, event), why_said(event) or event.detail.get("problems")
    if why:
        sentence += f" ({'; '.join(map(str, why)) if isinstance(why, list | tuple) else why})"
    if not event.text or event.kind == "note":  # a note's text stands in its sentence
        return sentence
    box = site.controller_name(event.controller)
    return f"{box}: {cut_text(event.text)} → {sentence}" if box else f"{sentence}: {cut_text(event.text)}"


def _became(message: Message, site: Site, since: datetime, now: datetime) -> str | None:
    """What is told of it; None: not yet, empty: nothing."""
    local = f"{now.astimezone(site.zone):%H:%M}"
    match message.state:
        case "delivered":
            return f"told {{who}} (delivered {local})"
        case "failed":
            return "NOT told {who}, given up"
        case "sent" if not site.settings.modem.delivery_reports:
            return f"told {{who}} (sent {local})"
        case "sent" if abs(now - since) >= REPORT_WITHIN:
            return f"told {{who}} (sent {since.astimezone(site.zone):%H:%M})"
        case "joined":
            return ""
        case _:
            return None
