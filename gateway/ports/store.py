"""What the spine asks of the store: questions, one transaction, and the whole."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Any, Literal, Protocol, TypeVar

from gateway.facts import Event, HeldPdu, InState, Message, OutState, PartOf, Text
from gateway.facts.alarms import Alarm, Telling
from gateway.facts.states.declared import State
from gateway.ports.rows import Arrival, Past, PauseRow, SentSegment, StoredPart, StoredText
from gateway.ports.summaries import Summaries

S = TypeVar("S", bound=State)
HEARD_AT_MOST = 200
"""So many of a controller's newest texts tell its rhythm, and are remembered for it."""


class Reader(Summaries, Protocol):
    """Questions to the store; every answer is of this site unless `all_sites` is said."""

    # texts
    def stored_in_slot(self, key: str, memory: str, slot: int | None) -> bool:
        """Whether this PDU (hash of its TPDU) was stored out of this very slot, which is not yet known to be free."""

    def last_arrival(self, key: str) -> Arrival | None:
        """When this PDU was last taken for a text, or the part of one; repeats do not count."""

    def others_since(self, arrival: int, number: str) -> int:
        """How many different PDUs came from that number after that arrival, itself not counted."""

    def raw_heard_before(self, when: datetime) -> bool:
        """Whether a raw PDU that was heard before then is still kept."""

    def waiting_parts(self, number: str, reference: int, total: int) -> tuple[StoredPart, ...]: ...
    def parts_heard_before(self, when: datetime) -> tuple[StoredPart, ...]: ...
    def oldest_part(self) -> datetime | None: ...
    def texts(
        self, *, since: datetime | None = None, limit: int | None = None, all_sites: bool = False
    ) -> tuple[StoredText, ...]:
        """Newest last; with a limit the newest so many."""

    def each_text(self, *, since: datetime | None = None) -> Iterator[StoredText]:
        """This site's, oldest first, one by one as they are read: for listing more than memory should hold."""

    def last_heard(self, controller: str, *, known_by: datetime | None = None) -> datetime | None:
        """`at` of the newest text in from that controller."""

    def heard_times(self, controller: str, *, limit: int, known_by: datetime | None = None) -> tuple[datetime, ...]:
        """`at` of its newest texts in (`HEARD_AT_MOST`), oldest first; with `known_by` none that is later, or was heard later."""

    # events
    def events(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        known_by: datetime | None = None,
        tank: str | None = None,
        controller: str | None = None,
        kinds: Iterable[str] | None = None,
        limit: int | None = None,
        all_sites: bool = False,
    ) -> tuple[Event, ...]:
        """Ordered by (at, id), newest last; with a limit the newest so many."""

    def each_event(self, *, since: datetime | None = None, tank: str | None = None) -> Iterator[Event]:
        """This site's, ordered by (at, id), one by one as they are read: for listing more than memory should hold."""

    def events_after(self, id: int, *, limit: int) -> tuple[Event, ...]:
        """This site's that were stored after that one, in the order of storing; the first so many."""

    def event(self, id: int) -> Event | None: ...
    def past(self, kinds: Iterable[str], *, known_by: datetime, limit: int) -> tuple[Past, ...]:
        """The newest so many of these kinds known by then, newest last; a look-up however long the history is."""

    def last_event(
        self,
        kinds: Iterable[str],
        *,
        tank: str | None = None,
        controller: str | None = None,
        input: str | None = None,
        known_by: datetime | None = None,
    ) -> Event | None:
        """The newest by its time. One stamped later than `known_by` (a wrong clock, an absurd stamp) is it only until the next is kept."""

    def last_kept(self, before: datetime) -> datetime | None:
        """When the newest thing on record before that time was kept: an event, a text in, or a message handed over."""

    def last_id(self, table: Literal["events", "texts"]) -> int:
        """The newest id of events or texts; 0 for none."""

    # outbox
    def message(self, id: int) -> Message | None: ...
    def outbox(self, *, limit: int | None = None) -> tuple[Message, ...]:
        """Everything not yet ended: waiting, held, sending, unsure; urgent first, then oldest first; with a limit the first so many."""

    def outbox_waits(self) -> bool:
        """Whether there is anything in it."""

    def outbox_count(self) -> int:
        """How many are in it."""

    def sent_since(self, when: datetime, *, contact: str | None = None) -> int:
        """Segments handed over with success since then (for limits and cost)."""

    def handed_over(self, since: datetime) -> tuple[tuple[str | None, datetime, int], ...]:
        """(contact, when, segments) of every message handed over since then, oldest first."""

    def handed_count(self, since: datetime) -> int:
        """How many those are."""

    def last_handed(self, limit: int) -> tuple[tuple[datetime, str], ...]:
        """(when, state) of the messages handed over last, newest first."""

    def sent_segments(self, reference: int, number: str) -> tuple[SentSegment, ...]:
        """Those with this TP-MR to this number, of the last days that the modem was used; oldest first."""

    def waiting_alarm_messages(self, whys: Collection[str]) -> frozenset[int]:
        """Messages that tell of alarms for these reasons and were never handed over; none that tells of dry taps."""

    def told_since(self, when: datetime) -> Mapping[str, int]:
        """How many messages each contact was sent since then that tell of something that happened."""

    # durable state
    def state(self, kind: type[S], subject: str = "") -> S | None:
        """What is remembered of that kind (`gateway.facts.states`) and subject. Raises StoreTrouble, naming both, where it cannot be read."""

    def states(self, kind: type[S]) -> dict[str, S]:
        """All of that kind, by their subjects."""

    # alarms
    def alarms(self, *, ended_since: datetime | None = None) -> tuple[Alarm, ...]:
        """Those that stand, oldest first; with `ended_since` also those that ended since then."""

    def tellings(
        self,
        *,
        alarm: int | None = None,
        since: datetime | None = None,
        message: int | None = None,
        from_alarm: int = 0,
    ) -> tuple[Telling, ...]:
        """Who was told of an alarm (`since`: from then on), or by a message, else of every alarm from that number on; in the order of the
        telling, each with what became of its message."""

    def ever_reached(self, alarm: int, contact: str) -> bool:
        """Whether a message of the alarm is known to have arrived at the contact's."""

    def pauses(self, *, known_by: datetime | None = None) -> tuple[PauseRow, ...]:
        """Pauses whose end has not been told yet."""

    # the other sites that share the store
    def state_of_others(self, kind: type[S]) -> Mapping[str, S | None]:
        """The state of every other site's gateway, by site; None where this program cannot read it."""

    def of_site(self, site: str) -> "Reader":
        """The same snapshot, as that site sees it."""


class Transaction(Reader, Protocol):
    """Everything in here becomes durable together, or not at all."""

    def keep_arrival(
        self, key: str, held: HeldPdu, heard_at: datetime, *, number: str = "", repeat: bool = False
    ) -> int:
        """Its new id; of a `repeat` only that it came, and where from."""

    def keep_part(
        self, arrival: int, number: str, part: PartOf, text: str, stamp: datetime | None, heard_at: datetime
    ) -> None: ...
    def drop_parts(self, ids: Iterable[int]) -> None: ...
    def keep_text(
        self,
        text: Text,
        state: InState,
        *,
        controller: str | None = None,
        contact: str | None = None,
        event: int | None = None,
        import_key: str | None = None,
        known_at: datetime | None = None,
    ) -> int | None:
        """The new id; None where `import_key` was stored before."""

    def tie_text(self, id: int, event: int) -> None:
        """Says which event came of that text."""

    def keep_event(self, event: Event) -> Event:
        """The same event with its id."""

    def change_event(self, id: int, kind: str, detail: Mapping[str, Any]) -> None:
        """What the record says of it from now on."""

    def drop_event(self, id: int) -> None:
        """One that no text is tied to."""

    def replace_event(self, id: int, by: int) -> None:
        """One goes, and the texts that it was tied to are tied to another."""

    def read_text_anew(self, id: int, state: InState, controller: str, event: int | None) -> None:
        """A text that came is read otherwise now."""

    def put_message(self, message: Message) -> Message: ...
    def change_message(
        self,
        id: int,
        *,
        state: OutState | None = None,
        tries: int | None = None,
        not_before: datetime | None = None,
        text: str | None = None,
        segments: int | None = None,
        possible_repeat: bool | None = None,
        at: datetime | None = None,
        delivered_at: datetime | None = None,
    ) -> None: ...
    def keep_references(self, id: int, number: str, references: Sequence[int], at: datetime) -> None: ...
    def report_segment(self, id: int, segment: int, outcome: str, stamp: datetime | None = None) -> bool:
        """Notes one segment's report; True once every segment of the message is delivered."""

    def next_reference(self) -> int:
        """The next concatenation reference (0..255), never the one before, also after a restart."""

    def slot_freed(self, memory: str, slot: int) -> None: ...
    def slots_freed(self, slots: Iterable[tuple[str, int | None]]) -> None:
        """The same for several, as (memory, slot)."""

    def set_state(self, state: State, subject: str = "") -> None: ...
    def clear_state(self, kind: type[State], subject: str = "") -> None: ...

    def put_alarm(self, alarm: Alarm) -> Alarm:
        """A new one gets its id; one that has an id is changed."""

    def put_telling(self, telling: Telling) -> Telling:
        """The same for who was told."""

    def put_pause(self, tank: str, since: datetime, until: datetime, by: str | None) -> int: ...
    def end_pause(self, id: int) -> None: ...
    def forget(self, number: str) -> int:
        """What this number said, and the number itself, is overwritten wherever it stands, also on the disk; events stay. How many texts."""

    def prune_raw(self, before: datetime) -> int:
        """Raw PDUs that were heard before then are erased, also on the disk; texts, events and the hashes by which a repeat is known stay.
        How many."""


class Store(Protocol):
    """Durable memory. Raises the StoreTrouble family of gateway.errors only."""

    def read(self) -> AbstractContextManager[Reader]: ...
    def write(self) -> AbstractContextManager[Transaction]:
        """Commits at the end of the block; rolls back on an exception."""

    def backup(self, file: str) -> None: ...
    def close(self) -> None: ...
