"""The guided test after fitting: what a float under test says is on record as that, told to the tester alone, and teaches nothing.

    begun → each float lifted and lowered (`walked`) → `walk-passed` or `walk-failed`; nobody there: interrupted, and gone on with

Whatever else the boxes say meanwhile is told like ever. A float that was tried counts again two minutes after, with what it said last.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from gateway.facts import Event, EventKind, FloatState, Reading, Text
from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.facts.states.errands_and_tests import WalkedFloat, WalkLeg, WalkUnderWay
from gateway.handlers.enqueue import enqueue
from gateway.handlers.event_followers import record_event
from gateway.handlers.floats import SWITCHES, float_read
from gateway.handlers.message_times import forget_times, time_message
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.proof import FREED_AFTER, Fault, current, heard_now, step_over, with_fault
from gateway.settings.controller_tables import Controller
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.site import PlacedFloat
from gateway.status.event_wording import text_for, told_of
from gateway.status.walk import (
    KEPT,
    floats_to_walk,
    instruction,
    is_ended,
    legs_of,
    placed_of,
    step_ends_at,
    walk_detail,
    why_said,
)

WRITTEN_BEFORE = timedelta(minutes=2)
SEGMENTS_OF_STEP = 2
"""What came and what is to be done now stand in one message: two a step would be held back as a burst."""


def begin_walk(
    unit: UnitOfWork, tank: Tank | None, tester: Contact, wait: timedelta, *, by_text: bool
) -> WalkUnderWay | None:
    """A new walk, or the one that was interrupted, gone on with: what passed is not walked again. None where there is no float."""
    floats: Sequence[WalkedFloat] = floats_to_walk(unit.tx, unit.site, tank)
    before = unit.tx.state(WalkUnderWay)
    if before is not None and not before.ended and unit.now - before.since < KEPT:
        passed = {tried.key: tried for tried in before.floats if tried.done_at is not None and not tried.faults}
        floats = [passed.get(tried.key, tried) for tried in floats]
    if not floats:
        return None
    place = next((place for place, tried in enumerate(floats) if tried.done_at is None), len(floats))
    walk = WalkUnderWay(
        at=unit.now, tester=tester.id, by_text=by_text, wait_s=wait.total_seconds(), floats=tuple(floats), place=place, since=unit.now,
    )  # fmt: skip
    unit.tx.set_state(walk)
    if by_text:
        _tell(unit, walk, "")
    return walk


def interrupt_walk(unit: UnitOfWork) -> None:
    """Whoever led it went away: what the floats say counts again; it can be gone on with for a day."""
    walk = unit.tx.state(WalkUnderWay)
    if walk is not None and current(walk) is not None:
        unit.tx.set_state(replace(walk, interrupted=True, since=unit.now))


def hear_on_walk(unit: UnitOfWork, placed: PlacedFloat, reading: Reading, event: Event) -> Event | None:
    """A float spoke: its event if that was for the walk; None where it is to be read like any other."""
    walk = None if unit.imported else unit.tx.state(WalkUnderWay)
    if walk is None or reading.state is None or event.at < walk.at - WRITTEN_BEFORE:
        return None
    match heard_now(walk, placed.key, placed.float.means, reading.state):
        case "not-ours":
            return None
        case "crossed":
            _fault(unit, walk, "crossed", placed.key)
            return None
        case "settles":
            floats = tuple(
                replace(tried, said=reading.state) if tried.key == placed.key else tried for tried in walk.floats
            )
            unit.tx.set_state(replace(walk, floats=floats))
            return _record_walked(unit, placed, event)
        case "wrong-meaning":
            return _step_heard(unit, with_fault(walk, "wrong-meaning"), placed, reading, event)
        case "as-expected":
            return _step_heard(unit, walk, placed, reading, event)


def hear_input_without_float(unit: UnitOfWork, controller: Controller, input: str) -> None:
    """The box told of an input on which no float is: most likely the one being tried is wired there."""
    walk = None if unit.imported else unit.tx.state(WalkUnderWay)
    tried = current(walk) if walk is not None else None
    if walk is not None and tried is not None and tried.key.startswith(f"{controller.id}:"):
        _fault(unit, walk, "no-float", input)


def hear_stranger_on_walk(unit: UnitOfWork, text: Text) -> None:
    """A number that is nobody's says what the float under test should: the box has another number than the configuration."""
    walk = None if unit.imported else unit.tx.state(WalkUnderWay)
    tried = current(walk) if walk is not None else None
    if walk is None or tried is None:
        return
    book = unit.site.books.get(tried.key.partition(":")[0])
    if book is not None and any(reading.means == "input" for reading in book.read(text.text).readings):
        _fault(unit, walk, "number", text.number)


def move_walk(unit: UnitOfWork) -> None:
    """What time brings: a text that did not come, floats that count again, the end."""
    walk = unit.tx.state(WalkUnderWay)
    if walk is None:
        return
    walk = _free_floats(unit, walk)
    if walk.ended or (walk.interrupted and unit.now - walk.since >= KEPT):
        if all(tried.freed or tried.done_at is None for tried in walk.floats):
            unit.tx.clear_state(WalkUnderWay)
    elif current(walk) is not None and (unit.now >= step_ends_at(walk) or walk.since > unit.now):
        _go_on(unit, step_over(walk, None, None, unit.now), "")
    elif is_ended(unit.tx, walk, unit.now):
        _end(unit, walk)


def _step_heard(unit: UnitOfWork, walk: WalkUnderWay, placed: PlacedFloat, reading: Reading, event: Event) -> Event:
    """The float being tried spoke: on record, timed, told to the tester, and on."""
    assert reading.state is not None
    switch = replace(event, kind=_kind_of(placed, reading.state), tank=placed.tank.id)
    stamp = unit.now if event.at > unit.now else event.at
    leg = WalkLeg(text=event.text or "", rule=reading.rule, stamp=stamp, heard_at=unit.now, message=0)
    ahead = step_over(walk, leg, reading.state, unit.now)
    contact = unit.site.contacts.get(walk.tester)
    says = (
        ""
        if contact is None
        else text_for(unit.site, told_of(unit.tx, unit.site, unit.now, switch), contact, urgent=False)
    )
    message = _tell(unit, ahead, says)
    ahead = step_over(walk, replace(leg, message=message), reading.state, unit.now)
    unit.tx.set_state(ahead)
    _say_if_interrupted(unit, ahead)
    return _record_walked(unit, placed, event)


def _kind_of(placed: PlacedFloat, state: FloatState) -> EventKind:
    return SWITCHES[(placed.float.means, "began" if state == "active" else "over")]


def _record_walked(unit: UnitOfWork, placed: PlacedFloat, event: Event) -> Event:
    return record_event(unit, replace(event, kind="walked", tank=placed.tank.id), tell=False)


def _fault(unit: UnitOfWork, walk: WalkUnderWay, fault: Fault, what: str) -> None:
    """Something else answered in the place of the float: said to the tester, and on to the next step."""
    faulty = with_fault(walk, fault, what)
    tried = faulty.floats[faulty.place]
    contact = unit.site.contacts.get(walk.tester)
    line = contact.line if contact is not None else "mobile"
    said = f"{fault}:{what}" if what else fault
    _go_on(unit, step_over(faulty, None, None, unit.now), why_said(unit.site, tried, [said], line))


def _go_on(unit: UnitOfWork, walk: WalkUnderWay, said: str) -> None:
    unit.tx.set_state(walk)
    if said or walk.by_text:
        _tell(unit, walk, said)
    _say_if_interrupted(unit, walk)


def _say_if_interrupted(unit: UnitOfWork, walk: WalkUnderWay) -> None:
    if walk.interrupted and walk.by_text:
        _enqueue(unit, walk, unit.site.phrases.label("walk-interrupted"))


def _tell(unit: UnitOfWork, walk: WalkUnderWay, said: str) -> int:
    """What came, marked as a test, and where the walk is led by texts what is to be done now. The message's id, whose times are kept."""
    contact = unit.site.contacts.get(walk.tester)
    if contact is None:
        return 0
    now_do = instruction(unit.site, walk, contact.line) if walk.by_text else None
    test = f"{unit.site.phrases.label('walk-test', line=contact.line)} {said}" if said else None
    words = " ".join(piece for piece in (test, now_do) if piece)
    return _enqueue(unit, walk, words) if words else 0


def _enqueue(unit: UnitOfWork, walk: WalkUnderWay, words: str) -> int:
    contact = unit.site.contacts.get(walk.tester)
    if contact is None:
        return 0
    phrases = unit.site.phrases
    text = phrases.cut(words, segments=max(unit.site.segments, SEGMENTS_OF_STEP))
    return time_message(unit, enqueue(unit, contact, text, urgent=True, subject="gateway"))


def _free_floats(unit: UnitOfWork, walk: WalkUnderWay) -> WalkUnderWay:
    """Floats that were tried and let go: from now on they count, and what they said last counts too."""
    floats = []
    for tried in walk.floats:
        due = tried.done_at is not None and (unit.now >= tried.done_at + FREED_AFTER or tried.done_at > unit.now)
        if due and not tried.freed:
            tried = replace(tried, freed=True)
            _read_last(unit, tried)
        floats.append(tried)
    freed = replace(walk, floats=tuple(floats))
    if freed != walk:
        unit.tx.set_state(freed)
    return freed


def _read_last(unit: UnitOfWork, tried: WalkedFloat) -> None:
    placed, memory = placed_of(unit.site, tried.key), unit.tx.state(FloatMemory, tried.key)
    leg = tried.active if tried.said == "active" else tried.idle
    known = memory.state if memory is not None else "unknown"
    if placed is None or tried.said is None or leg is None or known == tried.said:
        return
    controller, _, input = tried.key.partition(":")
    event = unit.event("alive", {"walked": True}, at=leg.heard_at, controller=controller, input=input, text=leg.text)
    float_read(unit, placed, Reading(means="input", rule=leg.rule, input=input, state=tried.said), event)


def _end(unit: UnitOfWork, walk: WalkUnderWay) -> None:
    """On record with its date, and told to the tester: passed, or what to mend."""
    detail = walk_detail(unit.tx, unit.site, walk)
    contact = unit.site.contacts.get(walk.tester)
    passed = sum(row["result"] == "passed" for row in detail["floats"])
    said = [f"{unit.site.tank_name(row['tank'])}: {row['why']}" for row in detail["floats"] if row["why"]]
    forget_times(unit, [leg.message for leg in legs_of(walk)])
    unit.tx.set_state(replace(walk, ended=True))
    full = {**detail, "at": walk.at.isoformat(), "tester": walk.tester, "who": unit.site.contact_name(walk.tester)}
    ended = unit.event("walk-passed" if detail["passed"] else "walk-failed", full, text="; ".join(said) or None)
    stored = record_event(unit, ended, tell=False)
    if contact is not None and walk.by_text:
        values = {"count": str(passed), "of": str(len(walk.floats)), "list": " ".join(said)}
        segments = max(unit.site.segments, SEGMENTS_OF_STEP)
        key = "walk-passed" if detail["passed"] else "walk-failed"
        text = unit.site.phrases.message(key, values, segments=segments, line=contact.line)
        enqueue(unit, contact, text, urgent=True, subject="gateway", event=stored.id)
