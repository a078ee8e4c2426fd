"""One row of a table → one fact. Each fact's columns stand beside it, in the order in which they are asked for."""

from collections.abc import Sequence
from typing import Any

from gateway.facts import Event, Message, PartOf
from gateway.ports import CallOutRow, PauseRow, StoredPart, StoredText
from gateway.storage.values import from_json, moment, moment_or_none

Row = Sequence[Any]

PART = "id, number, reference, part, total, text, stamp, heard_at"
TEXT = "id, way, number, contact, text, at, state, segments, tries, event, controller, site"
EVENT = "id, kind, at, heard_at, known_at, tank, controller, input, text, sender, detail, site"
MESSAGE = "id, contact, number, text, at, state, urgent, subject, event, call_out, segments, tries, not_before, possible_repeat"
CALL_OUT = "id, opened_at, closed_at, data"
PAUSE = 'id, tank, since, until, "by", ended'


def part_of(row: Row) -> StoredPart:
    id, number, reference, part, total, text, stamp, heard_at = row
    return StoredPart(
        id=id,
        number=number,
        part=PartOf(reference=reference, number=part, total=total),
        text=text,
        stamp=moment_or_none(stamp),
        heard_at=moment(heard_at),
    )


def text_of(row: Row) -> StoredText:
    id, way, number, contact, text, at, state, segments, tries, event, controller, site = row
    return StoredText(
        id=id,
        way=way,
        number=number,
        contact=contact,
        text=text,
        at=moment(at),
        state=state,
        segments=segments,
        tries=tries,
        event=event,
        controller=controller,
        site=site,
    )


def event_of(row: Row) -> Event:
    id, kind, at, heard_at, known_at, tank, controller, input, text, sender, detail, site = row
    return Event(
        id=id,
        kind=kind,
        at=moment(at),
        heard_at=moment(heard_at),
        known_at=moment(known_at),
        tank=tank,
        controller=controller,
        input=input,
        text=text,
        sender=sender,
        detail=from_json(detail),
        site=site,
    )


def message_of(row: Row) -> Message:
    id, contact, number, text, at, state, urgent, subject, event, call_out, segments, tries, not_before, repeat = row
    return Message(
        id=id,
        contact=contact,
        number=number,
        text=text,
        at=moment(at),
        state=state,
        urgent=bool(urgent),
        subject=subject,
        event=event,
        call_out=call_out,
        segments=segments,
        tries=tries,
        not_before=moment_or_none(not_before),
        possible_repeat=bool(repeat),
    )


def call_out_of(row: Row) -> CallOutRow:
    id, opened_at, closed_at, data = row
    return CallOutRow(id=id, opened_at=moment(opened_at), closed_at=moment_or_none(closed_at), data=from_json(data))


def pause_of(row: Row) -> PauseRow:
    id, tank, since, until, by, ended = row
    return PauseRow(id=id, tank=tank, since=moment(since), until=moment(until), by=by, ended=bool(ended))
