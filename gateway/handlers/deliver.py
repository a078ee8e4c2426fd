"""The outbox → the modem, one message at a time, and what became of each.

`sending` is committed before the modem is given the message; its answer is committed before the next one goes. What stands
at `sending` when the gateway starts is unsure and goes again, marked as a possible repeat. A message to somebody who is no
longer in the configuration is cancelled, on record. Nothing is said to be sent unless the modem said so.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Message
from gateway.facts.states.errands_and_tests import TimedMessage
from gateway.facts.states.gateway_itself import DayLimitTold
from gateway.gsm.segments import measure_text
from gateway.handlers.errands_leaving import leaves_no_more, note_errand_left
from gateway.handlers.event_followers import record_event
from gateway.handlers.join_messages import JOINED_WHYS, join, join_alarms
from gateway.handlers.message_times import note_sent
from gateway.handlers.report import give_up, take_early_reports
from gateway.handlers.reword_held import as_it_stands_now
from gateway.handlers.tell_alarm import NEW_CALLS
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.outbox import Allowance, Change, after_send, at_start, choose
from gateway.outbox.send_join_or_hold import BURST_WINDOW, plainly_next
from gateway.phrases.phrasebook import Line
from gateway.ports import SendEnded, SendJob
from gateway.site import Site
from gateway.status.waiting import quiet_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """The job for the modem, if there is one now; else when to look again."""

    job: SendJob | None = None
    wake_at: datetime | None = None


def judge_unfinished(unit: UnitOfWork) -> None:
    """What the last run left half done."""
    for message in unit.tx.outbox():
        change = at_start(message, unit.now)
        if change is not None:
            _apply(unit, message, change)
            note_errand_left(unit, message, change.state)


def claim_next(unit: UnitOfWork, *, more_comes: bool = False) -> Claimed:
    """The next message, committed as `sending`, as a job. While `more_comes`, texts listed and not read yet, no digest is made."""
    first = _plainly_next(unit)
    if first is not None:
        return _claim(unit, first)
    test = _next_test(unit)
    if test is not None:
        return _claim(unit, test)
    outbox = _cancel_to_strangers(unit)
    if not more_comes and join_alarms(unit, outbox):
        outbox = unit.tx.outbox()
    # each round holds or joins at least one; the bound only keeps a mistake in that from turning for ever
    full = _day_is_full(unit)
    for _ in range(len(outbox) + 2):
        choice = choose(
            outbox, _recent(unit), _allowance(unit, outbox), quiet_for(unit.tx, unit.site, unit.now), unit.now, full
        )
        for message, until in choice.hold:
            unit.tx.change_message(_id(message), state="held", not_before=until)
        if choice.over_limit:
            _record_limit(unit)
        if choice.join:
            if more_comes:
                return Claimed()
            join(unit, choice.join)
        elif choice.send is not None:
            held = _held_today(unit, choice.send, outbox)
            if not held:
                return _claim(unit, choice.send)
            join(unit, (choice.send, *held), whole=True)
        elif not choice.over_limit:
            return Claimed(wake_at=choice.wake_at)
        outbox = unit.tx.outbox()
    return Claimed(wake_at=unit.now + timedelta(seconds=30))


def message_ended(unit: UnitOfWork, end: SendEnded) -> None:
    """The modem's answer about a message. A late one settles what is unsure, unless the message is on its way again."""
    message = unit.tx.message(end.job)
    if message is None or (end.late and message.state != "unsure"):
        return
    change = after_send(message, end, unit.now)
    _apply(unit, message, change)
    if change.state in ("sent", "unsure"):
        unit.tx.change_message(end.job, at=unit.now)
        note_errand_left(unit, message, change.state)
    if change.state == "sent":
        note_sent(unit, end.job)
        unit.tx.keep_references(end.job, message.number, end.references, unit.now)
        take_early_reports(unit, message.number, end.references)


def _claim(unit: UnitOfWork, message: Message) -> Claimed:
    if leaves_no_more(unit, message):
        unit.tx.change_message(_id(message), state="failed")
        return Claimed(wake_at=unit.now)
    current = as_it_stands_now(unit, message)
    if current is None:
        return Claimed(wake_at=unit.now)
    message, text = current, current.text
    if (
        message.possible_repeat and message.contact is not None
    ):  # a box would not know its own command behind such words
        prefix = unit.site.phrases.label("repeat", line=_line(unit.site, message))
        text = unit.site.phrases.with_prefix(prefix, text, segments=max(message.segments, _segments(unit)))
    unit.tx.change_message(_id(message), state="sending")
    reference = unit.tx.next_reference() if measure_text(text).segments > 1 else 0
    return Claimed(
        job=SendJob(
            id=_id(message),
            number=message.number,
            text=text,
            reference=reference,
            want_report=unit.site.settings.modem.delivery_reports,
        )
    )


def _line(site: Site, message: Message) -> Line:
    contact = site.contacts.get(message.contact or "")
    return contact.line if contact else "mobile"


def _apply(unit: UnitOfWork, message: Message, change: Change) -> None:
    unit.tx.change_message(
        _id(message),
        state=change.state,
        tries=change.tries,
        not_before=change.not_before,
        possible_repeat=change.possible_repeat,
    )
    if change.give_up:
        give_up(unit, message, change.why)


def _plainly_next(unit: UnitOfWork) -> Message | None:
    """The first of the outbox, where no other needs to be looked at: in a burst most are."""
    site = unit.site
    for message in unit.tx.outbox(limit=1):
        known = message.contact is None or message.contact in site.contacts
        alone = len(unit.tx.waiting_alarm_messages(JOINED_WHYS)) < 2
        quiet = quiet_for(unit.tx, site, unit.now)
        if _share_is_used_up(unit)(message) or not (known and alone):
            return None
        if plainly_next(message, _recent(unit), _allowance(unit, (message,)), quiet, unit.now):
            return message
    return None


def _next_test(unit: UnitOfWork) -> Message | None:
    """A walk's or a drill's message that may leave now: whoever asked for it waits, so that it is neither held back as a burst nor part of
    one. A walk of six floats makes twelve in as many minutes, and what came late looked like a phone that is out of reach."""
    for message_id, timed in unit.tx.states(TimedMessage).items():
        message = unit.tx.message(int(message_id)) if timed.sent_at is None else None
        due = message is not None and (message.not_before is None or message.not_before <= unit.now)
        if (
            message is not None
            and due
            and message.urgent
            and message.state == "waiting"
            and message.contact in unit.site.contacts
        ):
            return message
    return None


def _cancel_to_strangers(unit: UnitOfWork) -> tuple[Message, ...]:
    """The outbox without messages to contacts who are no longer configured: these are cancelled, on record."""
    outbox = unit.tx.outbox()
    cancelled = []
    for message in outbox:
        gone = message.contact is not None and message.contact not in unit.site.contacts
        if gone and message.state != "sending":
            unit.tx.change_message(_id(message), state="failed")
            record_event(unit, unit.event("cancelled", {"contact": message.contact, "message": message.id}))
            cancelled.append(message.id)
    return tuple(message for message in outbox if message.id not in cancelled)


def _record_limit(unit: UnitOfWork) -> None:
    """Once a day: that the day's texts are used up, until when."""
    today = DayLimitTold(day=unit.now.astimezone(unit.site.zone).date())
    if unit.tx.state(DayLimitTold) == today:
        return
    unit.tx.set_state(today)
    detail = {"limit": unit.site.settings.limits.texts_per_day, "until": _day_ends(unit).isoformat()}
    record_event(unit, unit.event("held-back", detail))


def _recent(unit: UnitOfWork) -> Mapping[str, Sequence[datetime]]:
    """When each number got its last messages; nothing while nobody can be near the end of a burst."""
    times: dict[str, list[datetime]] = {}
    since = unit.now - BURST_WINDOW
    if unit.tx.handed_count(since) < unit.site.settings.limits.burst - 1:
        return times
    tests = {(timed.contact, timed.sent_at) for timed in unit.tx.states(TimedMessage).values()}
    for contact, at, _ in unit.tx.handed_over(since):
        configured = unit.site.contacts.get(contact or "")
        if configured is not None and (contact, at) not in tests:
            times.setdefault(configured.number, []).append(at)
    return times


def _allowance(unit: UnitOfWork, outbox: Sequence[Message]) -> Allowance:
    """What is gone today is counted where it can matter: what is urgent goes beyond the day's limit."""
    limits = unit.site.settings.limits
    ends = _day_ends(unit)
    counts = any(not message.urgent for message in outbox)
    return Allowance(
        burst=limits.burst,
        texts_per_day=limits.texts_per_day,
        sent_today=unit.tx.sent_since(ends - timedelta(days=1)) if counts else 0,
        day_ends=ends,
    )


def _day_is_full(unit: UnitOfWork) -> Callable[[Message], bool]:
    """Whether a message's phone got `a_day_each` today and it must wait: it tells of something, and of no new urgent alarm."""
    used_up = _share_is_used_up(unit)
    return lambda message: used_up(message) and not (message.urgent and _calls_anew(unit, message))


def _share_is_used_up(unit: UnitOfWork) -> Callable[[Message], bool]:
    """Whether its phone got `a_day_each` today. What tells of no event (an answer, the weekly report) is not counted and not held."""
    got = unit.tx.told_since(_day_ends(unit) - timedelta(days=1))
    share = unit.site.settings.limits.a_day_each
    return lambda message: message.event is not None and got.get(message.contact or "", 0) >= share


def _calls_anew(unit: UnitOfWork, message: Message) -> bool:
    return any(telling.why in NEW_CALLS for telling in unit.tx.tellings(message=_id(message)))


def _held_today(unit: UnitOfWork, message: Message, outbox: Sequence[Message]) -> tuple[Message, ...]:
    """What this day's limit holds for the same phone: it is named in a new urgent alarm that leaves all the same."""
    if not message.urgent or message.possible_repeat or not _calls_anew(unit, message):
        return ()
    ends = _day_ends(unit)
    held = (other for other in outbox if other.state == "held" and other.not_before == ends)
    return tuple(other for other in held if other.number == message.number and not other.possible_repeat)


def _day_ends(unit: UnitOfWork) -> datetime:
    local = unit.now.astimezone(unit.site.zone)
    return (local + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0)


def _segments(unit: UnitOfWork) -> int:
    return unit.site.segments


def _id(message: Message) -> int:
    assert message.id is not None
    return message.id
