"""What only asks, or was not understood → one answer, in as many messages as it takes."""

from gateway.facts import Text
from gateway.facts.states.people import InflowAsked, NotUnderstood
from gateway.handlers.enqueue import in_pieces, reply, reply_with
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.orders import Tanks, Unknown, Week, Words, may_answer
from gateway.phrases.put_together import MOST_SEGMENTS
from gateway.settings.people_tables import Contact
from gateway.status import summary
from gateway.status.event_wording import inflow_question
from gateway.status.forecast import asked_about, forecasts
from gateway.status.order_help import example_of, words_said
from gateway.status.snapshot import take_snapshot

MERELY_ASK = ("words", "words-more")
"""What the list that answers them tells better than their own name."""


def answer_question(unit: UnitOfWork, contact: Contact, text: Text, order: Tanks | Week | Words | Unknown) -> None:
    """Answers it; what is not understood at most once an hour."""
    match order:
        case Tanks():
            said = summary.tanks_line(unit.tx, unit.site, unit.now, contact.line)
            _reply_whole(unit, contact, " ".join([said, *_asked_once(unit, contact)]))
        case Week():
            reply(unit, contact, summary.week_line(unit.tx, unit.site, unit.now, contact.line))
        case Words():
            _reply_whole(unit, contact, words_said(unit.site.phrases, _a_tank(unit), more=order.more))
        case Unknown():
            _reply_unknown(unit, contact, order.near)


def _asked_once(unit: UnitOfWork, contact: Contact) -> list[str]:
    """Whether water runs into the tank that is low, where that would help to know and nobody was asked since it is."""
    snapshot = take_snapshot(unit.tx, unit.site, unit.now, numbers=False)
    about = asked_about(unit.tx, unit.site, snapshot)
    if about is None or contact.line != "mobile":
        return []
    tank, low_since = about
    asked, question = unit.tx.state(InflowAsked), inflow_question(unit.site, tank.name)
    if asked is not None and asked.tank == tank.id and asked.at >= low_since:
        return []
    if question is None or not forecasts(unit.tx, unit.site, snapshot)[tank.id].asks:
        return []
    unit.tx.set_state(InflowAsked(tank=tank.id, at=unit.now))
    return [question]


def _reply_unknown(unit: UnitOfWork, contact: Contact, near: str | None) -> None:
    """What would be right: the one word that was nearly meant, or those that a household uses."""
    # once an hour: two phones that answer each other would go on for ever, each text at a price (fault 40)
    last = unit.tx.state(NotUnderstood, contact.id)
    if not may_answer(last.answered_at if last is not None else None, unit.now):
        return
    unit.tx.set_state(NotUnderstood(answered_at=unit.now), contact.id)
    phrases = unit.site.phrases
    if near is None or near in MERELY_ASK:
        key, values = "unknown", {"list": words_said(phrases, _a_tank(unit))}
    else:
        key, values = "nearly", {"example": example_of(phrases, near, _a_tank(unit))}
    reply_with(unit, contact, key, values, segments=MOST_SEGMENTS)


def _a_tank(unit: UnitOfWork) -> str:
    return next(iter(unit.site.tanks), "house")


def _reply_whole(unit: UnitOfWork, contact: Contact, text: str) -> None:
    for piece in in_pieces(unit.site.phrases.in_its_letters(text), unit.site.segments):
        reply(unit, contact, piece)
