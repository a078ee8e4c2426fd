"""What becomes durable together: facts → rows. Implements gateway.ports.Transaction."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import Event, HeldPdu, InState, Message, OutState, PartOf, Text
from gateway.ports import CallOutRow
from gateway.storage import newest
from gateway.storage.reader import SqlReader
from gateway.storage.talk import assignments
from gateway.storage.values import micros, micros_or_none, to_json

REFERENCES = 256
PDUS_KEPT = timedelta(days=400)
FORGOTTEN = "(forgotten)"
MINE = "WHERE site = :site AND id = :id"


class SqlTransaction(SqlReader):
    """One BEGIN IMMEDIATE … COMMIT. Only rows of its own site are ever changed."""

    def keep_arrival(
        self, key: str, held: HeldPdu, heard_at: datetime, *, number: str = "", repeat: bool = False
    ) -> int:
        """See the port."""
        return self._insert(
            "arrivals",
            key=key,
            memory=held.memory,
            slot=held.slot,
            pdu="" if repeat else held.pdu,
            number=number,
            heard_at=micros(heard_at),
            freed=held.slot is None,
        )

    def keep_part(
        self, arrival: int, number: str, part: PartOf, text: str, stamp: datetime | None, heard_at: datetime
    ) -> None:
        """See the port."""
        self._insert(
            "parts",
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
        for id in ids:
            self._change(f"DELETE FROM parts {MINE}", id=id)

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
            "texts",
            way="in",
            number=text.number,
            contact=contact,
            controller=controller,
            text=text.text,
            at=micros(text.at),
            known_at=micros(known_at or text.heard_at),
            state=state,
            segments=text.segments,
            tries=0,
            event=event,
            import_key=import_key,
            urgent=False,
            subject="tanks",
            possible_repeat=False,
        )

    def tie_text(self, id: int, event: int) -> None:
        """See the port."""
        self._change(f"UPDATE texts SET event = :event {MINE}", id=id, event=event)

    def change_text_state(self, id: int, state: InState) -> None:
        """A text in turns out to be something else than it seemed."""
        self._change(f"UPDATE texts SET state = :state {MINE}", id=id, state=state)

    def keep_event(self, event: Event) -> Event:
        """See the port."""
        id = self._insert(
            "events",
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
        )
        newest.add(self._talk, self._site, event)
        return replace(event, site=self._site, id=id)

    def put_message(self, message: Message) -> Message:
        """See the port."""
        id = self._insert(
            "texts",
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
        )
        return replace(message, id=id)

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
            self._change(f"UPDATE texts SET {assignments(tuple(changed))} {MINE}", id=id, **changed)

    def keep_references(self, id: int, number: str, references: Sequence[int], at: datetime) -> None:
        """See the port."""
        self._change("DELETE FROM segments WHERE site = :site AND text = :id", id=id)
        for segment, reference in enumerate(references, start=1):
            self._insert(
                "segments",
                text=id,
                segment=segment,
                number=number,
                reference=reference,
                at=micros(at),
                outcome="",
            )

    def report_segment(self, id: int, segment: int, outcome: str) -> bool:
        """See the port."""
        query = "UPDATE segments SET outcome = :outcome WHERE site = :site AND text = :id AND segment = :segment"
        self._change(query, id=id, segment=segment, outcome=outcome)
        outcomes = [
            row[0] for row in self._all("SELECT outcome FROM segments WHERE site = :site AND text = :id", id=id)
        ]
        return bool(outcomes) and all(one == "delivered" for one in outcomes)

    def next_reference(self) -> int:
        """See the port."""
        last = self.mark("concatenation-reference")
        reference: int = 0 if last is None else (int(last) + 1) % REFERENCES
        self.set_mark("concatenation-reference", reference)
        return reference

    def slot_freed(self, memory: str, slot: int) -> None:
        """See the port."""
        self._change(
            "UPDATE arrivals SET freed = TRUE WHERE site = :site AND memory = :memory AND slot = :slot AND freed = FALSE",
            memory=memory,
            slot=slot,
        )

    def slots_freed(self, slots: Iterable[tuple[str, int | None]]) -> None:
        """See the port."""
        for memory, slot in slots:
            if slot is not None:
                self.slot_freed(memory, slot)

    def set_mark(self, key: str, value: Any) -> None:
        """See the port; what stands there already is not written again."""
        if value is None:
            self._change('DELETE FROM marks WHERE site = :site AND "key" = :key', key=key)
            return
        self._change(
            'INSERT INTO marks (site, "key", value) VALUES (:site, :key, :value) '
            'ON CONFLICT (site, "key") DO UPDATE SET value = excluded.value WHERE marks.value <> excluded.value',
            key=key,
            value=to_json(value),
        )

    def put_call_out(self, row: CallOutRow | None, *, opened_at: datetime, data: Mapping[str, Any]) -> CallOutRow:
        """See the port."""
        if row is not None:
            self.change_call_out(row.id, data)
            return CallOutRow(id=row.id, opened_at=row.opened_at, closed_at=row.closed_at, data=data)
        new = self._insert("call_outs", opened_at=micros(opened_at), data=to_json(dict(data)))
        return CallOutRow(id=new, opened_at=opened_at, closed_at=None, data=data)

    def change_call_out(self, id: int, data: Mapping[str, Any], *, closed_at: datetime | None = None) -> None:
        """See the port."""
        values: dict[str, Any] = {"data": to_json(dict(data))}
        if closed_at is not None:
            values["closed_at"] = micros(closed_at)
        self._change(f"UPDATE call_outs SET {assignments(tuple(values))} {MINE}", id=id, **values)

    def put_pause(self, tank: str, since: datetime, until: datetime, by: str | None) -> int:
        """See the port; a pause that still runs on that tank is replaced."""
        query = "UPDATE pauses SET ended = TRUE WHERE site = :site AND tank = :tank AND ended = FALSE"
        self._change(query, tank=tank)
        return self._insert("pauses", tank=tank, since=micros(since), until=micros(until), by=by, ended=False)

    def end_pause(self, id: int) -> None:
        """See the port."""
        self._change(f"UPDATE pauses SET ended = TRUE {MINE}", id=id)

    def forget(self, number: str) -> int:
        """See the port."""
        gone = {"number": number, "gone": FORGOTTEN}
        theirs = "WHERE site = :site AND number = :number"
        changed = self._change(f"UPDATE texts SET text = :gone, number = :gone {theirs}", **gone)
        self._change("UPDATE events SET text = :gone, sender = :gone WHERE site = :site AND sender = :number", **gone)
        self._change(f"UPDATE arrivals SET pdu = '', number = :gone {theirs}", **gone)
        self._change("DELETE FROM segments WHERE site = :site AND number = :number", number=number)
        return changed

    def prune(self, now: datetime) -> None:
        """Raw PDUs older than 400 days go; texts and events stay for ever."""
        self._change(
            "UPDATE arrivals SET pdu = '' WHERE site = :site AND heard_at < :before AND freed = TRUE AND pdu <> ''",
            before=micros(now - PDUS_KEPT),
        )

    def _imported(self, import_key: str) -> bool:
        query = "SELECT id FROM texts WHERE site = :site AND import_key = :import_key"
        return self._value(query, import_key=import_key) is not None

    def _insert(self, table: str, **values: Any) -> int:
        return self._talk.insert(table, {"site": self._site, **values})

    def _change(self, query: str, **values: Any) -> int:
        return self._talk.change(query, {"site": self._site, **values})
