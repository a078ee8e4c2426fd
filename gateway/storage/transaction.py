"""What becomes durable together: facts → rows. Implements gateway.ports.Transaction."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, delete, insert, update
from sqlalchemy.exc import IntegrityError

from gateway.facts import Event, HeldPdu, InState, Message, OutState, PartOf, Text
from gateway.ports import CallOutRow
from gateway.storage import tables as t
from gateway.storage.reader import SqlReader
from gateway.storage.values import micros, micros_or_none, to_json

REFERENCES = 256
PDUS_KEPT = timedelta(days=400)
FORGOTTEN = "(forgotten)"


class SqlTransaction(SqlReader):
    """One BEGIN IMMEDIATE … COMMIT. Only rows of its own site are ever changed."""

    def keep_arrival(self, key: str, held: HeldPdu, heard_at: datetime, *, number: str = "") -> int:
        """See the port."""
        return self._insert(
            t.arrivals,
            key=key,
            memory=held.memory,
            slot=held.slot,
            pdu=held.pdu,
            number=number,
            heard_at=micros(heard_at),
            freed=held.slot is None,
        )

    def keep_part(
        self, arrival: int, number: str, part: PartOf, text: str, stamp: datetime | None, heard_at: datetime
    ) -> None:
        """See the port."""
        self._insert(
            t.parts,
            arrival=arrival,
            number=number,
            reference=part.reference,
            part=part.number,
            total=part.total,
            text=text,
            stamp=micros_or_none(stamp),
            heard_at=micros(heard_at),
        )

    def drop_parts(self, ids: Iterable[int]) -> None:
        """See the port."""
        self._connection.execute(delete(t.parts).where(t.parts.c.site == self._site, t.parts.c.id.in_(list(ids))))

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
        """See the port."""
        if import_key is not None and self._imported(import_key):
            return None
        return self._insert(
            t.texts,
            way="in",
            number=text.number,
            contact=contact,
            controller=controller,
            text=text.text,
            at=micros(text.at),
            known_at=micros(known_at or text.heard_at),
            state=state,
            segments=text.segments,
            event=event,
            import_key=import_key,
        )

    def tie_text(self, id: int, event: int) -> None:
        """See the port."""
        self._connection.execute(update(t.texts).where(*self._mine(t.texts, id)).values(event=event))

    def change_text_state(self, id: int, state: InState) -> None:
        """A text in turns out to be something else than it seemed."""
        self._connection.execute(update(t.texts).where(*self._mine(t.texts, id)).values(state=state))

    def keep_event(self, event: Event) -> Event:
        """See the port."""
        from dataclasses import replace

        return replace(
            event,
            site=self._site,
            id=self._insert(
                t.events,
                kind=event.kind,
                at=micros(event.at),
                heard_at=micros(event.heard_at),
                known_at=micros(event.known_at),
                tank=event.tank,
                controller=event.controller,
                input=event.input,
                text=event.text,
                sender=event.sender,
                detail=to_json(dict(event.detail)),
            ),
        )

    def put_message(self, message: Message) -> Message:
        """See the port."""
        from dataclasses import replace

        return replace(
            message,
            id=self._insert(
                t.texts,
                way="out",
                number=message.number,
                contact=message.contact,
                text=message.text,
                at=micros(message.at),
                known_at=micros(message.at),
                state=message.state,
                segments=message.segments,
                tries=message.tries,
                event=message.event,
                urgent=message.urgent,
                subject=message.subject,
                call_out=message.call_out,
                not_before=micros_or_none(message.not_before),
                possible_repeat=message.possible_repeat,
            ),
        )

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
    ) -> None:
        """See the port; `at` is when it was handed over."""
        values: dict[str, Any] = {
            "state": state,
            "tries": tries,
            "not_before": micros_or_none(not_before),
            "text": text,
            "segments": segments,
            "possible_repeat": possible_repeat,
            "handed_at": micros_or_none(at),
        }
        changed = {name: value for name, value in values.items() if value is not None}
        if changed:
            self._connection.execute(update(t.texts).where(*self._mine(t.texts, id)).values(**changed))

    def keep_references(self, id: int, number: str, references: Sequence[int], at: datetime) -> None:
        """See the port."""
        self._connection.execute(delete(t.segments).where(*self._segments_of(id)))
        for segment, reference in enumerate(references, start=1):
            self._insert(t.segments, text=id, segment=segment, number=number, reference=reference, at=micros(at))

    def report_segment(self, id: int, segment: int, outcome: str) -> bool:
        """See the port."""
        c = t.segments.c
        mine = self._segments_of(id)
        self._connection.execute(update(t.segments).where(*mine, c.segment == segment).values(outcome=outcome))
        from sqlalchemy import select

        outcomes = [row[0] for row in self._all(select(c.outcome).where(*mine))]
        return bool(outcomes) and all(one == "delivered" for one in outcomes)

    def next_reference(self) -> int:
        """See the port."""
        last = self.mark("concatenation-reference")
        reference: int = 0 if last is None else (int(last) + 1) % REFERENCES
        self.set_mark("concatenation-reference", reference)
        return reference

    def slot_freed(self, memory: str, slot: int) -> None:
        """See the port."""
        c = t.arrivals.c
        self._connection.execute(
            update(t.arrivals)
            .where(c.site == self._site, c.memory == memory, c.slot == slot, c.freed.is_(False))
            .values(freed=True)
        )

    def slots_freed(self, slots: Iterable[tuple[str, int | None]]) -> None:
        """See the port."""
        for memory, slot in slots:
            if slot is not None:
                self.slot_freed(memory, slot)

    def set_mark(self, key: str, value: Any) -> None:
        """See the port."""
        c = t.marks.c
        here = (c.site == self._site, c.key == key)
        if value is None:
            self._connection.execute(delete(t.marks).where(*here))
            return
        changed = self._connection.execute(update(t.marks).where(*here).values(value=to_json(value)))
        if changed.rowcount == 0:
            self._connection.execute(insert(t.marks).values(site=self._site, key=key, value=to_json(value)))

    def put_call_out(self, row: CallOutRow | None, *, opened_at: datetime, data: Mapping[str, Any]) -> CallOutRow:
        """See the port."""
        if row is not None:
            self.change_call_out(row.id, data)
            return CallOutRow(id=row.id, opened_at=row.opened_at, closed_at=row.closed_at, data=data)
        new = self._insert(t.call_outs, opened_at=micros(opened_at), data=to_json(dict(data)))
        return CallOutRow(id=new, opened_at=opened_at, closed_at=None, data=data)

    def change_call_out(self, id: int, data: Mapping[str, Any], *, closed_at: datetime | None = None) -> None:
        """See the port."""
        values: dict[str, Any] = {"data": to_json(dict(data))}
        if closed_at is not None:
            values["closed_at"] = micros(closed_at)
        self._connection.execute(update(t.call_outs).where(*self._mine(t.call_outs, id)).values(**values))

    def put_pause(self, tank: str, since: datetime, until: datetime, by: str | None) -> int:
        """See the port; a pause that still runs on that tank is replaced."""
        c = t.pauses.c
        self._connection.execute(
            update(t.pauses).where(c.site == self._site, c.tank == tank, c.ended.is_(False)).values(ended=True)
        )
        return self._insert(t.pauses, tank=tank, since=micros(since), until=micros(until), by=by)

    def end_pause(self, id: int) -> None:
        """See the port."""
        self._connection.execute(update(t.pauses).where(*self._mine(t.pauses, id)).values(ended=True))

    def forget(self, number: str) -> int:
        """See the port."""
        texts = update(t.texts).where(t.texts.c.site == self._site, t.texts.c.number == number)
        changed = self._connection.execute(texts.values(text=FORGOTTEN, number=FORGOTTEN)).rowcount
        events = update(t.events).where(t.events.c.site == self._site, t.events.c.sender == number)
        self._connection.execute(events.values(text=FORGOTTEN, sender=FORGOTTEN))
        arrivals = update(t.arrivals).where(t.arrivals.c.site == self._site, t.arrivals.c.number == number)
        self._connection.execute(arrivals.values(pdu="", number=FORGOTTEN))
        self._connection.execute(
            delete(t.segments).where(t.segments.c.site == self._site, t.segments.c.number == number)
        )
        return int(changed)

    def prune(self, now: datetime) -> None:
        """Raw PDUs older than 400 days go; texts and events stay for ever."""
        c = t.arrivals.c
        old = (c.site == self._site, c.heard_at < micros(now - PDUS_KEPT), c.freed.is_(True), c.pdu != "")
        self._connection.execute(update(t.arrivals).where(*old).values(pdu=""))

    def _segments_of(self, id: int) -> tuple[ColumnElement[bool], ...]:
        return t.segments.c.site == self._site, t.segments.c.text == id

    def _imported(self, import_key: str) -> bool:
        from sqlalchemy import select

        c = t.texts.c
        return self._one(select(c.id).where(c.site == self._site, c.import_key == import_key)) is not None

    def _insert(self, table: Any, **values: Any) -> int:
        done = self._connection.execute(insert(table).values(site=self._site, **values))
        key = done.inserted_primary_key
        if key is None:
            raise IntegrityError("insert", None, Exception("no key came back"))
        return int(key[0])
