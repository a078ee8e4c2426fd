"""One row of a table → one fact."""

from typing import Any, Literal, cast

from sqlalchemy import Row

from gateway.facts import Event, Message, OutState, PartOf, Subject
from gateway.ports import CallOutRow, PauseRow, StoredPart, StoredText
from gateway.storage.values import from_json, moment, moment_or_none


def part_of(row: Row[Any]) -> StoredPart:
    return StoredPart(
        id=row.id,
        number=row.number,
        part=PartOf(reference=row.reference, number=row.part, total=row.total),
        text=row.text,
        stamp=moment_or_none(row.stamp),
        heard_at=moment(row.heard_at),
    )


def text_of(row: Row[Any]) -> StoredText:
    return StoredText(
        id=row.id,
        way=cast(Literal["in", "out"], row.way),
        number=row.number,
        contact=row.contact,
        text=row.text,
        at=moment(row.at),
        state=row.state,
        segments=row.segments,
        tries=row.tries,
        event=row.event,
        controller=row.controller,
        site=row.site,
    )


def event_of(row: Row[Any]) -> Event:
    return Event(
        id=row.id,
        kind=row.kind,
        at=moment(row.at),
        heard_at=moment(row.heard_at),
        known_at=moment(row.known_at),
        tank=row.tank,
        controller=row.controller,
        input=row.input,
        text=row.text,
        sender=row.sender,
        detail=from_json(row.detail),
        site=row.site,
    )


def message_of(row: Row[Any]) -> Message:
    return Message(
        id=row.id,
        contact=row.contact,
        number=row.number,
        text=row.text,
        at=moment(row.at),
        state=cast(OutState, row.state),
        urgent=row.urgent,
        subject=cast(Subject, row.subject),
        event=row.event,
        call_out=row.call_out,
        segments=row.segments,
        tries=row.tries,
        not_before=moment_or_none(row.not_before),
        possible_repeat=row.possible_repeat,
    )


def call_out_of(row: Row[Any]) -> CallOutRow:
    return CallOutRow(
        id=row.id,
        opened_at=moment(row.opened_at),
        closed_at=moment_or_none(row.closed_at),
        data=from_json(row.data),
    )


def pause_of(row: Row[Any]) -> PauseRow:
    return PauseRow(
        id=row.id, tank=row.tank, since=moment(row.since), until=moment(row.until), by=row.by, ended=row.ended
    )
