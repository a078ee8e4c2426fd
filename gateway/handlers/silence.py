"""Controllers and the present time → asked, found silent, or fine.

Marks: `watched:<id>` from when on it is watched; `asked:<id>` when it was last asked; `silent:<id>` while flagged. A controller that
leaves the file and comes back is watched from then. What is stamped ahead (the clock had been wrong) proves nothing about now.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.facts import Event, Message
from gateway.facts.moments import time_of
from gateway.gsm.segments import measure
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.heartbeats.verdict import Verdict, judge
from gateway.inbox import clock_trusted
from gateway.ports import Reader
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.silence_causes import why_silent
from gateway.status.silence_limit import limit_of

WATCH = "watched:"
OLD_MARK = "watch:since"
"""What the first program kept: one time for all controllers; taken over for those that were known by then."""
AHEAD = timedelta(days=1)
"""Whatever is later than now by more than this was heard while the clock was wrong."""


def judge_all(unit: UnitOfWork) -> None:
    """One verdict for each controller, at one time; without a trusted clock there is none."""
    if not unit.trusted:
        return
    _watch(unit)
    fallen = []
    for controller in unit.site.settings.controllers:
        verdict = verdict_of(unit.tx, controller, unit.now)
        if verdict.ask_now:
            _ask(unit, controller)
        if verdict.state == "silent" and unit.tx.mark(f"silent:{controller.id}") is None:
            fallen.append((controller, verdict))
    for controller, verdict in fallen:
        _fall_silent(unit, controller, verdict, {one.id for one, _ in fallen})


def dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When each controller must be looked at next."""
    if not clock_trusted(now, None):
        return
    for controller in site.settings.controllers:
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


def _watch(unit: UnitOfWork) -> None:
    """Whoever is new in the file is watched from now on; whoever left it no more."""
    old = time_of(unit.tx.mark(OLD_MARK))
    marks = {key.removeprefix(WATCH): time_of(one) for key, one in unit.tx.marks(WATCH).items()}
    for controller in unit.site.settings.controllers:
        since = marks.pop(controller.id, None)
        if since is not None and since <= unit.now:
            continue
        since = old if since is None and old is not None and _known(unit, controller) else unit.now
        unit.tx.set_mark(WATCH + controller.id, min(since, unit.now).isoformat())
    if old is not None:
        unit.tx.set_mark(OLD_MARK, None)
    for gone in marks:
        unit.tx.set_mark(WATCH + gone, None)


def _watched(reader: Reader, controller: Controller, now: datetime) -> bool:
    since = time_of(reader.mark(WATCH + controller.id))
    return since is not None and since <= now


def _known(unit: UnitOfWork, controller: Controller) -> bool:
    flagged = unit.tx.mark(f"silent:{controller.id}") is not None
    return flagged or last_heard(unit.tx, controller, unit.now) is not None


def _ask(unit: UnitOfWork, controller: Controller) -> None:
    """Sends what its owner wrote, as it is."""
    text = controller.ask.text
    unit.tx.set_mark(f"asked:{controller.id}", unit.now.isoformat())
    if not text or not controller.number:
        return
    unit.tx.put_message(
        Message(
            contact=None,
            number=controller.number[0],
            text=text,
            at=unit.now,
            urgent=True,
            subject="controllers",
            segments=measure(text).segments,
        )
    )


def _fall_silent(unit: UnitOfWork, controller: Controller, verdict: Verdict, fallen: set[str]) -> None:
    since = verdict.silent_since or unit.now
    unit.tx.set_mark(f"silent:{controller.id}", {"since": since.isoformat(), "flagged": unit.now.isoformat()})
    record_event(
        unit,
        Event(
            kind="silent",
            at=unit.now,
            heard_at=unit.now,
            known_at=unit.now,
            controller=controller.id,
            detail={
                "since": since.isoformat(),
                "never": last_heard(unit.tx, controller, unit.now) is None,
                **why_silent(unit.tx, unit.site, unit.now, controller, since, fallen),
            },
        ),
    )
