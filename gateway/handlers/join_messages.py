"""Several messages that wait for one contact → one; each of them stays on record as held back in it.

Alarms are named in full, the most urgent first, in as many segments as it takes: of thirty tanks that are low at once none may only be
counted; and of dry taps nobody should drink. Whatever else goes with them is cut to what the household allows.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

from gateway.facts import Message
from gateway.facts.alarms import Alarm, Telling
from gateway.gsm.segments import measure_text
from gateway.handlers.enqueue import as_one
from gateway.handlers.event_followers import record_event
from gateway.handlers.reword_held import as_it_stands_now
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import Line
from gateway.settings.people_tables import Contact
from gateway.status.alarm_words import REMARKED, several_said

UNCUT_SEGMENTS = 20
JOINED_WHYS = ("first", "worse", "next-turn", "reminder", "came-back", "changed")
"""Second calls go alone, for they say what to do; so does what tells of dry taps."""


def join_alarms(unit: UnitOfWork, outbox: Sequence[Message]) -> bool:
    """Messages of different alarms that wait for one phone become one that names all. Whether any did."""
    waiting = unit.tx.waiting_alarm_messages(JOINED_WHYS)
    groups: dict[tuple[str, bool], list[Message]] = {}
    for message in outbox:
        due = message.not_before is None or message.not_before <= unit.now
        if message.id in waiting and message.state == "waiting" and due and not message.possible_repeat:
            groups.setdefault((message.number, message.urgent), []).append(message)
    several = [messages for messages in groups.values() if len(messages) > 1]
    return any([_join_alarms_of_one(unit, messages) for messages in several])


def join(unit: UnitOfWork, messages: Sequence[Message], *, whole: bool = False) -> None:
    """Whatever waits for one contact becomes one message, what is urgent first; with `whole` in as many segments as it takes, if not many.

    What is over by now is left out; where no two are left, nothing is joined.
    """
    messages = [newer for message in messages if (newer := as_it_stands_now(unit, message)) is not None]
    if len(messages) < 2:
        return
    first = messages[0]
    contact, line = unit.site.contacts.get(first.contact or ""), _line(unit, first)
    waiting = unit.tx.waiting_alarm_messages(JOINED_WHYS)
    of_alarms = [message for message in messages if message.id in waiting] if contact is not None else []
    alarms = _alarms_of(unit, of_alarms)
    if contact is None or len(alarms) < 2:
        of_alarms, alarms = [], []
    rest = [message for message in messages if message not in of_alarms]
    never_cut = [message.text for message in rest if message.urgent or _is_read_whole(unit, message)]
    named = several_said(unit.tx, unit.site, unit.now, alarms, contact) if contact is not None and alarms else []
    uncut = [*named, *never_cut]
    texts = [*uncut, *(message.text for message in rest if message.text not in never_cut)]
    if len(texts) > 1:
        values = {"count": len(texts), "list": as_one(texts, line)}
        room = measure_text(
            unit.site.phrases.message(
                "digest", {**values, "list": as_one(texts if whole else uncut, line)}, segments=20
            )
        ).segments
        segments = max(unit.site.segments, min(room, UNCUT_SEGMENTS) if whole or uncut else 1)
        texts = [unit.site.phrases.message("digest", values, segments=segments, line=line)]
    _replace(unit, messages, texts)


def _is_read_whole(unit: UnitOfWork, message: Message) -> bool:
    """What tells of dry taps, for nobody should drink of them, and of what is urgent still."""
    event = unit.tx.event(message.event) if message.event is not None else None
    if event is not None and event.kind == "ran-dry":
        return True
    return any(alarm.priority == "urgent" for alarm in _alarms_of(unit, [message]))


def _join_alarms_of_one(unit: UnitOfWork, messages: Sequence[Message]) -> bool:
    """Of the alarms that still stand; with why they are told again, where that is the same for all."""
    contact = unit.site.contacts.get(messages[0].contact or "")
    alarms = _alarms_of(unit, messages)
    if contact is None or len(alarms) < 2:
        return False
    whys = {telling.why for message in messages for telling in unit.tx.tellings(message=message.id)}
    why = whys.pop() if len(whys) == 1 and whys <= set(REMARKED) else ""
    _replace(unit, messages, several_said(unit.tx, unit.site, unit.now, alarms, contact, why=why))
    return True


def _alarms_of(unit: UnitOfWork, messages: Collection[Message]) -> list[Alarm]:
    ids = {telling.alarm for message in messages for telling in unit.tx.tellings(message=message.id)}
    return [alarm for alarm in unit.tx.alarms() if alarm.id in ids]


def _replace(unit: UnitOfWork, messages: Sequence[Message], texts: Sequence[str]) -> None:
    """The new messages take the places of the old ones, also where it stands by which message an alarm was told."""
    first = messages[0]
    joined = [
        unit.tx.put_message(
            Message(
                contact=first.contact,
                number=first.number,
                text=text,
                at=unit.now,
                urgent=any(message.urgent for message in messages),
                subject=first.subject,
                event=first.event,
                segments=measure_text(text).segments,
            )
        )
        for text in texts
    ]
    tellings: list[Telling] = []
    for message in messages:
        assert message.id is not None
        unit.tx.change_message(message.id, state="joined")
        tellings += unit.tx.tellings(message=message.id)
    for telling in tellings:
        unit.tx.put_telling(replace(telling, message=joined[0].id))
    detail = {"joined": [message.id for message in messages], "into": joined[0].id}
    record_event(unit, unit.event("held-back", detail))


def _line(unit: UnitOfWork, message: Message) -> Line:
    contact: Contact | None = unit.site.contacts.get(message.contact or "")
    return contact.line if contact else "mobile"
