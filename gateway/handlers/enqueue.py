"""Words for a contact → one or more messages in the outbox."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import partial

from gateway.facts import Message, Subject
from gateway.gsm.segments import measure_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import Line
from gateway.settings.people_tables import Contact

PIECES_AT_MOST = 6


def reply(unit: UnitOfWork, contact: Contact, text: str) -> Message | None:
    """A reply to whoever asked; none where the other end talks like a machine (fault 40)."""
    return None if unit.unanswered else enqueue(unit, contact, text, urgent=True, subject="tanks")


def reply_with(
    unit: UnitOfWork, contact: Contact, key: str, values: Mapping[str, object], *, segments: int = 1
) -> Message | None:
    """The phrase `[answer.key]` as a reply, in as many segments as any message of the household may have, or in `segments`."""
    most = max(unit.site.segments, segments)
    return reply(unit, contact, unit.site.phrases.reply(key, values, segments=most, line=contact.line))


def enqueue(
    unit: UnitOfWork,
    contact: Contact,
    text: str,
    *,
    urgent: bool,
    subject: Subject,
    event: int | None = None,
) -> Message:
    """Puts a message to a contact into the outbox."""
    return unit.tx.put_message(
        Message(
            contact=contact.id,
            number=contact.number,
            text=text,
            at=unit.now,
            urgent=urgent,
            subject=subject,
            event=event,
            segments=measure_text(text).segments,
        )
    )


def in_pieces(text: str, segments: int) -> list[str]:
    """A text that must not lose a word → as many messages of `segments` each as it takes (six at most)."""
    pieces: list[str] = []
    left = text
    while left and len(pieces) < PIECES_AT_MOST:
        fits = bisect_right(range(2, len(left) + 1), segments, key=partial(_segments_of_first, left))
        size = _to_the_last_blank(left, 1 + fits)
        pieces.append(left[:size])
        left = left[size:]
    return pieces


def _segments_of_first(text: str, size: int) -> int:
    """It never falls as `size` grows."""
    return measure_text(text[:size]).segments


def _to_the_last_blank(text: str, size: int) -> int:
    """So far that no word is parted, where there is a blank in what fits; the blank stays, so that no letter is lost."""
    if size == len(text):
        return size
    return text.rfind(" ", 0, size) + 1 or size


def as_one(texts: Sequence[str], line: Line) -> str:
    """Several messages as the words of one: a voice would read a stroke between them, so there they are sentences."""
    return " / ".join(texts) if line == "mobile" else ". ".join(text.rstrip(". ") for text in texts) + "."
