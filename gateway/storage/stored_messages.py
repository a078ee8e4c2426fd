"""The outbox: messages, and the segments that the modem was given of each, by which a delivery report finds its message."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import BigInteger, Integer, bindparam, delete, func, select, type_coerce, update

from gateway.facts import Message, OutState
from gateway.ports import SentSegment
from gateway.storage.tables import here, segments, texts, this_row
from gateway.storage.transactions import TableReader, TableWriter

OPEN_STATES = ("waiting", "held", "sending", "unsure")
HANDED_STATES = ("sent", "delivered", "unsure")
REPORT_WITHIN_US = 5 * 86_400 * 1_000_000
"""A report that comes later than five days is not of this use of the modem's 8-bit reference. Counted to the newest message that
the site has handed over, so that a step of the clock costs no report."""
_COLUMNS = (
    *("id", "contact", "number", "text", "at", "state", "urgent", "subject", "event", "segments", "tries"),
    *("not_before", "possible_repeat"),
)
_HANDED = texts.c.state.in_(HANDED_STATES)
_SINCE = texts.c.handed_at >= bindparam("since")
_MESSAGES = select(*(texts.c[name] for name in _COLUMNS)).where(here(texts))
_MESSAGE = _MESSAGES.where(texts.c.id == bindparam("its_id"), texts.c.way == "out")
_OPEN = (here(texts), texts.c.way == "out", texts.c.state.in_(OPEN_STATES))
_OUTBOX = (
    select(*(texts.c[name] for name in _COLUMNS)).where(*_OPEN).order_by(texts.c.urgent.desc(), texts.c.at, texts.c.id)
)
_OUTBOX_FIRST = _OUTBOX.limit(bindparam("most", type_=Integer))
_OUTBOX_WAITS = select(texts.c.id).where(*_OPEN).limit(1)
_OUTBOX_COUNT = select(func.count()).where(*_OPEN)
_SENT = select(func.coalesce(func.sum(texts.c.segments), 0)).where(here(texts), _SINCE, _HANDED)
_SENT_TO = _SENT.where(texts.c.contact == bindparam("contact"))
_HANDED_OVER = (
    select(texts.c.contact, texts.c.handed_at, texts.c.segments).where(here(texts), _SINCE).order_by(texts.c.handed_at)
)
_HANDED_COUNT = select(func.count()).where(here(texts), _SINCE)
_LAST_HANDED = (
    select(texts.c.handed_at, texts.c.state)
    .where(here(texts), texts.c.handed_at.is_not(None))
    .order_by(texts.c.handed_at.desc())
    .limit(bindparam("most", type_=Integer))
)
_TOLD = (
    select(texts.c.contact, func.count())
    .where(here(texts), _SINCE, _HANDED, texts.c.event.is_not(None), texts.c.contact.is_not(None))
    .group_by(texts.c.contact)
)
_CHANGE = update(texts).where(*this_row(texts))

_newest = segments.alias("newest")
_NEWEST_AT = (
    select(type_coerce(_newest.c.at, BigInteger))
    .where(_newest.c.site == bindparam("here"))
    .order_by(_newest.c.text.desc())
    .limit(1)
    .scalar_subquery()
)
_SENT_SEGMENTS = (
    select(segments.c.text, segments.c.segment, segments.c.at, segments.c.outcome, segments.c.stamp)
    .where(
        here(segments),
        segments.c.reference == bindparam("reference"),
        segments.c.number == bindparam("number"),
        type_coerce(segments.c.at, BigInteger) >= _NEWEST_AT - REPORT_WITHIN_US,
    )
    .order_by(segments.c.id)
)
_SEGMENTS = (here(segments), segments.c.text == bindparam("its_text"))
_DROP_SEGMENTS = delete(segments).where(*_SEGMENTS)
_REPORTED = update(segments).where(*_SEGMENTS, segments.c.segment == bindparam("its_segment"))
_OUTCOMES = select(segments.c.outcome).where(*_SEGMENTS)


class MessageReader(TableReader):
    def message(self, id: int) -> Message | None:
        row = self._first(_MESSAGE, its_id=id)
        return None if row is None else _message_of(row)

    def outbox(self, *, limit: int | None = None) -> tuple[Message, ...]:
        rows = self._all(_OUTBOX) if limit is None else self._all(_OUTBOX_FIRST, most=limit)
        return tuple(map(_message_of, rows))

    def outbox_waits(self) -> bool:
        return self._value(_OUTBOX_WAITS) is not None

    def outbox_count(self) -> int:
        return int(self._value(_OUTBOX_COUNT))

    def sent_since(self, when: datetime, *, contact: str | None = None) -> int:
        if contact is None:
            return int(self._value(_SENT, since=when))
        return int(self._value(_SENT_TO, since=when, contact=contact))

    def handed_over(self, since: datetime) -> tuple[tuple[str | None, datetime, int], ...]:
        return tuple((row[0], row[1], row[2]) for row in self._all(_HANDED_OVER, since=since))

    def told_since(self, when: datetime) -> dict[str, int]:
        return {row[0]: row[1] for row in self._all(_TOLD, since=when)}

    def handed_count(self, since: datetime) -> int:
        return int(self._value(_HANDED_COUNT, since=since))

    def last_handed(self, limit: int) -> tuple[tuple[datetime, str], ...]:
        return tuple((row[0], row[1]) for row in self._all(_LAST_HANDED, most=limit))

    def sent_segments(self, reference: int, number: str) -> tuple[SentSegment, ...]:
        rows = self._all(_SENT_SEGMENTS, reference=reference, number=number)
        return tuple(
            SentSegment(message=message, segment=segment, at=at, outcome=outcome, stamp=stamp)
            for message, segment, at, outcome, stamp in rows
        )


class MessageWriter(MessageReader, TableWriter):
    def put_message(self, message: Message) -> Message:
        id = self._insert(
            texts,
            way="out",
            number=message.number,
            contact=message.contact,
            text=message.text,
            at=message.at,
            known_at=message.at,
            state=message.state,
            segments=message.segments,
            tries=message.tries,
            event=message.event,
            urgent=message.urgent,
            subject=message.subject,
            not_before=message.not_before,
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
        delivered_at: datetime | None = None,
    ) -> None:
        values: dict[str, Any] = {
            "state": state,
            "tries": tries,
            "not_before": not_before,
            "text": text,
            "segments": segments,
            "possible_repeat": possible_repeat,
            "handed_at": at,
            "delivered_at": delivered_at,
        }
        changed = {name: value for name, value in values.items() if value is not None}
        if changed:
            self._change(_CHANGE, its_id=id, **changed)

    def keep_references(self, id: int, number: str, references: Sequence[int], at: datetime) -> None:
        self._change(_DROP_SEGMENTS, its_text=id)
        for segment, reference in enumerate(references, start=1):
            self._insert(segments, text=id, segment=segment, number=number, reference=reference, at=at, outcome="")

    def report_segment(self, id: int, segment: int, outcome: str, stamp: datetime | None = None) -> bool:
        self._change(_REPORTED, its_text=id, its_segment=segment, outcome=outcome, stamp=stamp)
        outcomes = [row[0] for row in self._all(_OUTCOMES, its_text=id)]
        return bool(outcomes) and all(outcome == "delivered" for outcome in outcomes)


def _message_of(row: Any) -> Message:
    return Message(**row._mapping)
