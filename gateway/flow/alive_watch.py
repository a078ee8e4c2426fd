"""Controllers and the present time → asked, found silent, or fine.

Marks: `watched:<id>` from when on it is watched; `asked:<id>` when it was last asked; `silent:<id>` while flagged. A controller that
leaves the file and comes back is watched from then. What is stamped ahead (the clock had been wrong) proves nothing about now.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.facts import Event, Message
from gateway.facts.moments import time_of
from gateway.flow.happen import happen
from gateway.flow.house import House, Moment
from gateway.flow.limits import limit_of
from gateway.flow.silence import why_silent
from gateway.gsm.segments import measure
from gateway.heartbeats.verdict import Verdict, judge
from gateway.inbox import clock_trusted
from gateway.ports import Reader
from gateway.settings.models import Controller

WATCH = "watched:"
OLD_MARK = "watch:since"
"""What the first program kept: one time for all controllers; taken over for those that were known by then."""
AHEAD = timedelta(days=1)
"""Whatever is later than now by more than this was heard while the clock was wrong."""


def judge_all(moment: Moment) -> None:
    """One verdict for each controller, at one time; without a trusted clock there is none."""
    if not moment.trusted:
        return
    _watch(moment)
    fallen = []
    for controller in moment.house.settings.controllers:
        verdict = verdict_of(moment.tx, controller, moment.now)
        if verdict.ask_now:
            _ask(moment, controller)
        if verdict.state == "silent" and moment.tx.mark(f"silent:{controller.id}") is None:
            fallen.append((controller, verdict))
    for controller, verdict in fallen:
        _fall_silent(moment, controller, verdict, {one.id for one, _ in fallen})


def dues(reader: Reader, house: House, now: datetime) -> Iterator[datetime]:
    """When each controller must be looked at next."""
    if not clock_trusted(now, None):
        return
    for controller in house.settings.controllers:
        verdict = verdict_of(reader, controller, now)
        unflagged = verdict.state == "silent" and reader.mark(f"silent:{controller.id}") is None
        if unflagged or verdict.ask_now or not _watched(reader, controller, now):
            yield now
        elif verdict.due is not None:
            yield verdict.due


def verdict_of(reader: Reader, controller: Controller, now: datetime) -> Verdict:
    """How the controller stands now. Texts that were imported from before the gateway watched are no reason for a silence."""
    asked = reader.mark(f"asked:{controller.id}")
    since = min(time_of(reader.mark(WATCH + controller.id)) or now, now)
    heard = last_heard(reader, controller, now)
    return judge(
        limit=limit_of(reader, controller, known_by=now + AHEAD),
        last_heard=max(heard, since) if heard else None,
        watched_since=since,
        asked_at=time_of(asked),
        flagged=reader.mark(f"silent:{controller.id}") is not None,
        ask=controller.ask,
        now=now,
    )


def last_heard(reader: Reader, controller: Controller, now: datetime) -> datetime | None:
    """Its last sign of life that can be true."""
    return reader.last_heard(controller.id, known_by=now + AHEAD)


def _watch(moment: Moment) -> None:
    """Whoever is new in the file is watched from now on; whoever left it no more."""
    old = time_of(moment.tx.mark(OLD_MARK))
    marks = {key.removeprefix(WATCH): time_of(one) for key, one in moment.tx.marks(WATCH).items()}
    for controller in moment.house.settings.controllers:
        since = marks.pop(controller.id, None)
        if since is not None and since <= moment.now:
            continue
        since = old if since is None and old is not None and _known(moment, controller) else moment.now
        moment.tx.set_mark(WATCH + controller.id, min(since, moment.now).isoformat())
    if old is not None:
        moment.tx.set_mark(OLD_MARK, None)
    for gone in marks:
        moment.tx.set_mark(WATCH + gone, None)


def _watched(reader: Reader, controller: Controller, now: datetime) -> bool:
    since = time_of(reader.mark(WATCH + controller.id))
    return since is not None and since <= now


def _known(moment: Moment, controller: Controller) -> bool:
    flagged = moment.tx.mark(f"silent:{controller.id}") is not None
    return flagged or last_heard(moment.tx, controller, moment.now) is not None


def _ask(moment: Moment, controller: Controller) -> None:
    """Sends what its owner wrote, as it is."""
    text = controller.ask.text
    moment.tx.set_mark(f"asked:{controller.id}", moment.now.isoformat())
    if not text or not controller.number:
        return
    moment.tx.put_message(
        Message(
            contact=None,
            number=controller.number[0],
            text=text,
            at=moment.now,
            urgent=True,
            subject="controllers",
            segments=measure(text).segments,
        )
    )


def _fall_silent(moment: Moment, controller: Controller, verdict: Verdict, fallen: set[str]) -> None:
    since = verdict.silent_since or moment.now
    moment.tx.set_mark(f"silent:{controller.id}", {"since": since.isoformat(), "flagged": moment.now.isoformat()})
    happen(
        moment,
        Event(
            kind="silent",
            at=moment.now,
            heard_at=moment.now,
            known_at=moment.now,
            controller=controller.id,
            detail={
                "since": since.isoformat(),
                "never": last_heard(moment.tx, controller, moment.now) is None,
                **why_silent(moment, controller, since, fallen),
            },
        ),
    )
