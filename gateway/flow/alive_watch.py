"""Controllers and the present time → asked, found silent, or fine.

Marks: `watch:since` from when on the gateway watched at all; `asked:<id>` when it was last asked; `silent:<id>` while flagged.
"""

from collections.abc import Iterator
from datetime import datetime

from gateway.facts import Event, Message
from gateway.flow.happen import happen
from gateway.flow.house import House, Moment
from gateway.flow.limits import limit_of
from gateway.flow.silence import why_silent
from gateway.gsm.segments import measure
from gateway.heartbeats.verdict import Verdict, judge
from gateway.ports import Reader
from gateway.settings.models import Controller

WATCH_SINCE = "watch:since"


def judge_all(moment: Moment) -> None:
    """One verdict for each controller, at one time; without a trusted clock there is none."""
    if not moment.trusted:
        return
    if moment.tx.mark(WATCH_SINCE) is None:
        moment.tx.set_mark(WATCH_SINCE, moment.now.isoformat())
    fallen = []
    for controller in moment.house.settings.controllers:
        verdict = verdict_of(moment.tx, controller, moment.now)
        if verdict.ask_now:
            _ask(moment, controller)
        if verdict.state == "silent" and moment.tx.mark(f"silent:{controller.id}") is None:
            fallen.append((controller, verdict))
    for controller, verdict in fallen:
        _fall_silent(moment, controller, verdict)


def dues(reader: Reader, house: House, now: datetime) -> Iterator[datetime]:
    """When each controller must be looked at next."""
    if reader.mark(WATCH_SINCE) is None:
        yield now
        return
    for controller in house.settings.controllers:
        verdict = verdict_of(reader, controller, now)
        unflagged = verdict.state == "silent" and reader.mark(f"silent:{controller.id}") is None
        if unflagged or verdict.ask_now:
            yield now
        elif verdict.due is not None:
            yield verdict.due


def verdict_of(reader: Reader, controller: Controller, now: datetime) -> Verdict:
    """How the controller stands now. Texts that were imported from before the gateway watched are no reason for a silence."""
    asked = reader.mark(f"asked:{controller.id}")
    mark = reader.mark(WATCH_SINCE)
    since = datetime.fromisoformat(mark) if mark else now
    heard = reader.last_heard(controller.id)
    return judge(
        limit=limit_of(reader, controller),
        last_heard=max(heard, since) if heard else None,
        watched_since=since,
        asked_at=datetime.fromisoformat(asked) if asked else None,
        flagged=reader.mark(f"silent:{controller.id}") is not None,
        ask=controller.ask,
        now=now,
    )


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


def _fall_silent(moment: Moment, controller: Controller, verdict: Verdict) -> None:
    since = verdict.silent_since or moment.now
    last = moment.tx.last_heard(controller.id)
    moment.tx.set_mark(f"silent:{controller.id}", {"since": since.isoformat(), "flagged": moment.now.isoformat()})
    happen(
        moment,
        Event(
            kind="silent",
            at=moment.now,
            heard_at=moment.now,
            known_at=moment.now,
            controller=controller.id,
            detail={"since": since.isoformat(), "never": last is None, **why_silent(moment, controller, since)},
        ),
    )
