"""The outbox → the modem, one message at a time, and what became of each.

`sending` is committed before the modem is given the message; its answer is committed before the next one goes. What stands
at `sending` when the gateway starts is unsure and goes again, marked as a possible repeat. A message to somebody who is no
longer in the configuration is cancelled, on record. Nothing is said to be sent unless the modem said so.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Event, EventKind, Message, Report
from gateway.flow import callouts
from gateway.flow.house import House, Moment
from gateway.flow.post import as_one, post
from gateway.gsm.segments import measure
from gateway.outbox import LANDLINE_QUIET, Allowance, Change, after_report, after_send, choose, quiet_until
from gateway.outbox import at_start as unfinished
from gateway.outbox.choose import BURST_WINDOW, plainly_next
from gateway.phrases.book import Line, When
from gateway.ports import SendEnded, SendJob

LIMIT_TOLD = "limit:told"
EARLY_REPORTS = "reports:early"
EARLY_KEPT = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """The job for the modem, if there is one now; else when to look again."""

    job: SendJob | None = None
    wake_at: datetime | None = None


def at_start(moment: Moment) -> None:
    """What the last run left half done."""
    for message in moment.tx.outbox():
        change = unfinished(message, moment.now)
        if change is not None:
            _apply(moment, message, change)


def claim(moment: Moment, *, more_comes: bool = False) -> Claimed:
    """The next message, committed as `sending`, as a job. While `more_comes`, texts listed and not read yet, no digest is made."""
    first = _plainly_next(moment)
    if first is not None:
        return _claim(moment, first)
    outbox = _known(moment)
    for _ in range(len(outbox) + 2):
        choice = choose(
            outbox, _recent(moment), _allowance(moment, outbox), quiet_for(moment.house, moment.now), moment.now
        )
        for message, until in choice.hold:
            moment.tx.change_message(_id(message), state="held", not_before=until)
        if choice.over_limit:
            _tell_limit(moment)
        if choice.join:
            if more_comes:
                return Claimed()
            _join(moment, choice.join)
        elif choice.send is not None:
            return _claim(moment, choice.send)
        elif not choice.over_limit:
            return Claimed(wake_at=choice.wake_at)
        outbox = moment.tx.outbox()
    return Claimed(wake_at=moment.now + timedelta(seconds=30))


def ended(moment: Moment, end: SendEnded) -> None:
    """The modem's answer about a message."""
    message = moment.tx.message(end.job)
    if message is None:
        return
    change = after_send(message, end, moment.now)
    _apply(moment, message, change)
    if change.state in ("sent", "unsure"):
        moment.tx.change_message(end.job, at=moment.now)
    if change.state == "sent":
        moment.tx.keep_references(end.job, message.number, end.references, moment.now)
        _take_early(moment, message.number, end.references)


def take_report(moment: Moment, report: Report) -> None:
    """A delivery report: matched by reference and number; one that matches nothing is let go."""
    found = moment.tx.whose_reference(report.reference, moment.house.number(report.number))
    if found is None:
        _keep_early(moment, report)
        return
    message_id, segment = found
    complete = moment.tx.report_segment(message_id, segment, report.outcome)
    state = after_report(report.outcome, complete=complete)
    message = moment.tx.message(message_id)
    if state is None or message is None:
        return
    moment.tx.change_message(message_id, state=state)
    if state == "failed":
        _give_up(moment, message, "the network could not deliver it")


def _keep_early(moment: Moment, report: Report) -> None:
    """A report can be here before the modem's answer to the last segment: it waits for that."""
    early = moment.tx.mark(EARLY_REPORTS) or []
    new = [report.reference, moment.house.number(report.number), report.outcome, report.status]
    moment.tx.set_mark(EARLY_REPORTS, [*early, new][-EARLY_KEPT:])


def _take_early(moment: Moment, number: str, references: Sequence[int]) -> None:
    early = moment.tx.mark(EARLY_REPORTS) or []
    mine = [one for one in early if one[0] in references and one[1] == number]
    if not mine:
        return
    moment.tx.set_mark(EARLY_REPORTS, [one for one in early if one not in mine] or None)
    for reference, to, outcome, status in mine:
        take_report(moment, Report(reference=reference, number=to, outcome=outcome, status=status))


def _claim(moment: Moment, message: Message) -> Claimed:
    text = message.text
    if message.possible_repeat:
        prefix = moment.house.phrases.label("repeat", line=_line(moment.house, message))
        text = moment.house.phrases.prefixed(prefix, text, segments=max(message.segments, _segments(moment)))
    moment.tx.change_message(_id(message), state="sending")
    reference = moment.tx.next_reference() if measure(text).segments > 1 else 0
    return Claimed(
        job=SendJob(
            id=_id(message),
            number=message.number,
            text=text,
            reference=reference,
            want_report=moment.house.settings.modem.delivery_reports,
        )
    )


def _join(moment: Moment, messages: Sequence[Message]) -> None:
    """Several messages of one contact become one, urgent first; each of them stays on record as held back in it."""
    house = moment.house
    first = messages[0]
    line = _line(house, first)
    values = {"count": len(messages), "list": as_one([message.text for message in messages], line)}
    text = house.phrases.say("digest", values, segments=_segments(moment), line=line)
    for message in messages:
        moment.tx.change_message(_id(message), state="joined")
    joined = moment.tx.put_message(
        Message(
            contact=first.contact,
            number=first.number,
            text=text,
            at=moment.now,
            urgent=any(message.urgent for message in messages),
            subject=first.subject,
            segments=measure(text).segments,
            call_out=next((message.call_out for message in messages if message.call_out), None),
        )
    )
    _record(moment, "held-back", {"joined": [message.id for message in messages], "into": joined.id})


def _line(house: House, message: Message) -> Line:
    contact = house.contacts.get(message.contact or "")
    return contact.line if contact else "mobile"


def _apply(moment: Moment, message: Message, change: Change) -> None:
    moment.tx.change_message(
        _id(message),
        state=change.state,
        tries=change.tries,
        not_before=change.not_before,
        possible_repeat=change.possible_repeat,
    )
    if change.give_up:
        _give_up(moment, message, change.why)


def _give_up(moment: Moment, message: Message, why: str) -> None:
    """On record, and told to everyone else: somebody may believe that this contact knows."""
    house = moment.house
    event = _record(moment, "given-up", {"contact": message.contact, "why": why, "message": message.id})
    if message.contact is None or message.subject == "gateway":
        return
    values = {"name": house.contact_name(message.contact), "raw": message.text}
    for contact in house.settings.contacts:
        if contact.id != message.contact and message.subject in contact.about:
            said = house.phrases.say("given-up", values, segments=_segments(moment), line=contact.line)
            post(moment, contact, said, urgent=False, subject="gateway", event=event.id)
    callouts.due(moment)


def _plainly_next(moment: Moment) -> Message | None:
    """The first of the outbox, where no other needs to be looked at: in a burst most are."""
    house = moment.house
    for one in moment.tx.outbox(limit=1):
        known = one.contact is None or one.contact in house.contacts
        quiet = quiet_for(house, moment.now)
        if known and plainly_next(one, _recent(moment), _allowance(moment, (one,)), quiet, moment.now):
            return one
    return None


def _known(moment: Moment) -> tuple[Message, ...]:
    """The outbox; messages to contacts who are no longer configured are not sent."""
    outbox = moment.tx.outbox()
    strangers = []
    for message in outbox:
        gone = message.contact is not None and message.contact not in moment.house.contacts
        if gone and message.state != "sending":
            moment.tx.change_message(_id(message), state="failed")
            _record(moment, "cancelled", {"contact": message.contact, "message": message.id})
            strangers.append(message.id)
    return tuple(message for message in outbox if message.id not in strangers)


def _tell_limit(moment: Moment) -> None:
    """Once a day: that the day's texts are used up."""
    house = moment.house
    today = moment.now.astimezone(house.zone).date().isoformat()
    if moment.tx.mark(LIMIT_TOLD) == today:
        return
    moment.tx.set_mark(LIMIT_TOLD, today)
    ends = _day_ends(moment)
    event = _record(moment, "held-back", {"limit": house.settings.limits.texts_per_day, "until": ends.isoformat()})
    values = {
        "limit": house.settings.limits.texts_per_day,
        "until": When(ends, moment.now, house.zone),
    }
    for contact in house.settings.contacts:
        said = house.phrases.say("over-limit", values, segments=_segments(moment), line=contact.line)
        post(moment, contact, said, urgent=True, subject="gateway", event=event.id)


def _recent(moment: Moment) -> Mapping[str, Sequence[datetime]]:
    """When each number got its last messages; nothing while nobody can be near the end of a burst."""
    times: dict[str, list[datetime]] = {}
    since = moment.now - BURST_WINDOW
    if moment.tx.handed_count(since) < moment.house.settings.limits.burst - 1:
        return times
    for contact, at, _ in moment.tx.handed_over(since):
        known = moment.house.contacts.get(contact or "")
        if known is not None:
            times.setdefault(known.number, []).append(at)
    return times


def _allowance(moment: Moment, outbox: Sequence[Message]) -> Allowance:
    """What is gone today is counted where it can matter: what is urgent goes beyond the day's limit."""
    limits = moment.house.settings.limits
    ends = _day_ends(moment)
    counts = any(not one.urgent for one in outbox)
    return Allowance(
        burst=limits.burst,
        texts_per_day=limits.texts_per_day,
        sent_today=moment.tx.sent_since(ends - timedelta(days=1)) if counts else 0,
        day_ends=ends,
    )


def _day_ends(moment: Moment) -> datetime:
    local = moment.now.astimezone(moment.house.zone)
    return (local + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0)


def quiet_for(house: House, now: datetime) -> Callable[[Message], datetime | None]:
    """Until when a message is held by its contact's quiet hours at that time (None: it is not)."""

    def until(message: Message) -> datetime | None:
        contact = house.contacts.get(message.contact or "")
        if contact is None:
            return None
        hours = (contact.quiet, LANDLINE_QUIET if contact.line == "landline" else "")
        return max((end for one in hours if (end := quiet_until(one, house.zone, now))), default=None)

    return until


def _record(moment: Moment, kind: EventKind, detail: dict[str, object]) -> Event:
    return moment.tx.keep_event(
        Event(kind=kind, at=moment.now, heard_at=moment.now, known_at=moment.now, detail=detail)
    )


def _segments(moment: Moment) -> int:
    return moment.house.settings.limits.segments


def _id(message: Message) -> int:
    assert message.id is not None
    return message.id
