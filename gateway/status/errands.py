"""The errands of each controller: which there are, whether one may leave now and if not why, what is under way, when to look again."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.errands import CODE_HOLDS, Next, next_step
from gateway.facts import Event, Reading, RuleRead, Text
from gateway.facts.states.errands_and_tests import ErrandUnderWay, Switched
from gateway.facts.states.gateway_itself import OwnNumber
from gateway.gsm.segments import measure_text
from gateway.ports import Reader
from gateway.rules.answer_pattern import compile_answer, read_answer
from gateway.settings.controller_tables import Controller, Errand
from gateway.settings.errand_checks import ASK_ID
from gateway.settings.people_tables import Contact
from gateway.site import Site
from gateway.status.silence import clock_off, last_heard, limit_of

NotSent = Literal[
    "busy", "silent", "unknown", "landline", "not-yours", "late", "limit", "no-number", "no-phone", "not-left", "network", "gone",
]  # fmt: skip
"""Why an errand did not leave: a key of `[errand-not-sent]`."""

ANYTHING = "*"
ENDS = ("errand-answered", "errand-unexpected", "errand-unanswered", "errand-refused")
LATE_ANSWER_WITHIN = timedelta(days=1)
LOOKED_AT = 6
STOP_TRIED_EVERY = timedelta(minutes=1)
"""A stop text that did not leave is tried again after so long, not with the pauses of other messages: something runs meanwhile."""
WRITTEN_BEFORE = timedelta(minutes=2)
"""By how much the network's stamp on an answer may lie before our own time of sending: centres stamp whole minutes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A text of a controller as the answer to what is under way. `fits`: as expected, or otherwise."""

    under_way: ErrandUnderWay
    fits: bool


def errands_of(controller: Controller) -> tuple[Errand, ...]:
    """Its errands in the order of the file; its asking text is the last of them."""
    if not controller.ask.text:
        return controller.errands
    return (*controller.errands, Errand(id=ASK_ID, text=controller.ask.text, answer=ANYTHING))


def texted_number(controller: Controller) -> str | None:
    """Where its texts go: the first of its numbers that is none of letters."""
    return next((number for number in controller.number if number.removeprefix("+").isdecimal()), None)


def errand_called(controller: Controller, id: str) -> Errand | None:
    """The errand of that id, without case."""
    return next((errand for errand in errands_of(controller) if errand.id.casefold() == id.casefold()), None)


def errand_meant(site: Site, words: str) -> tuple[Controller, Errand] | None:
    """`ridge status`, `Ridge box status`, or `status` where only one controller has such an errand."""
    said = " ".join(words.split()).casefold()
    fitting = [
        (controller, errand)
        for controller in site.settings.controllers
        for errand in errands_of(controller)
        if said in (f"{controller.id} {errand.id}".casefold(), f"{controller.name} {errand.id}".casefold())
    ]
    if not fitting:
        every = ((controller, errand) for controller in site.settings.controllers for errand in errands_of(controller))
        fitting = [(controller, errand) for controller, errand in every if errand.id.casefold() == said]
    return fitting[0] if len(fitting) == 1 else None


def errands_for(site: Site, contact: Contact) -> tuple[tuple[Controller, Errand], ...]:
    """What the contact may order by text."""
    return tuple(
        (controller, errand)
        for controller in site.settings.controllers
        for errand in errands_of(controller)
        if contact.id in errand.may
    )


def why_not(
    reader: Reader, site: Site, now: datetime, controller: Controller, errand: Errand, *, by: Contact | None
) -> NotSent | None:
    """Why it may not be ordered now; None: it may. `by`: who orders it by text; None: somebody at the command line."""
    if by is not None and by.id not in errand.may:
        return "not-yours"
    if by is not None and by.line == "landline" and errand.risk != "looks":
        return "landline"
    if texted_number(controller) is None:
        return "no-phone"
    if "{gateway}" in f"{errand.text}{errand.stop_text}" and not own_number(reader, site):
        return "no-number"
    if reader.state(ErrandUnderWay, controller.id) is not None:
        return "busy"
    # a box that was put in the place of another is set up from the command line before it was ever heard
    if errand.risk == "switches" or (errand.risk == "sets" and by is not None):
        not_heard = _why_not_heard(reader, controller, now)
        if not_heard is not None:
            return not_heard
    local = now.astimezone(site.zone)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    if reader.sent_since(midnight) + measure_text(errand.text).segments > site.settings.limits.texts_per_day:
        return "limit"
    return None


def own_number(reader: Reader, site: Site) -> str:
    """The gateway's own number: as configured, else as the SIM says it; empty where neither knows it."""
    said = reader.state(OwnNumber)
    return site.settings.modem.number or (said.number if said is not None else "")


def _why_not_heard(reader: Reader, controller: Controller, now: datetime) -> Literal["unknown", "silent"] | None:
    heard, limit = last_heard(reader, controller, now), limit_of(reader, controller, known_by=now)
    if heard is None:
        return "unknown"
    return "silent" if limit is not None and now - heard >= limit else None


def took(reader: Reader, text: Text) -> timedelta:
    """How long the network took over the text."""
    return text.heard_at - _written_at(reader, text)


def came_late(reader: Reader, text: Text) -> bool:
    """Whether that was so long that whoever wrote it may have left."""
    return took(reader, text) >= CODE_HOLDS


def read_with_answer(reader: Reader, site: Site, controller: Controller, text: Text, read: RuleRead) -> RuleRead:
    """What the rules read, and what the errand's pattern reads in its answer beside that: it counts like any text."""
    under_way = reader.state(ErrandUnderWay, controller.id)
    errand = errand_called(controller, under_way.errand) if under_way is not None else None
    reading = _read_as_answer(errand, text) if errand is not None else None
    if reading is None or (errand is not None and errand.answer == ANYTHING):
        return read
    if read.rule is None:
        means: Literal["reading", "alive"] = "reading" if reading.numbers else "alive"
        return RuleRead(rule=0, readings=(*read.readings, _as(reading, means)), timed_out=read.timed_out)
    known = {name for other in read.readings for name in other.numbers}
    if reading.numbers.keys() <= known:
        return read
    return RuleRead(rule=read.rule, readings=(*read.readings, _as(reading, "reading")), timed_out=read.timed_out)


def answer_in(reader: Reader, controller: Controller, text: Text, read: RuleRead) -> Answer | None:
    """The text as the answer to what is under way; None: it is none, or nothing is."""
    under_way = reader.state(ErrandUnderWay, controller.id)
    if under_way is None or not _may_answer(reader, under_way, text):
        return None
    errand = errand_called(controller, under_way.errand)
    if errand is None or not errand.answer:
        return None
    if _read_as_answer(errand, text) is not None:
        return Answer(under_way=under_way, fits=True)
    # what a box says by itself, and what another errand asked for, is no answer to this one
    by_itself = any(reading.means in ("input", "power-lost", "power-back") for reading in read.readings)
    if by_itself or late_answer_in(reader, controller, text) is not None:
        return None
    return Answer(under_way=under_way, fits=False)


def late_answer_in(reader: Reader, controller: Controller, text: Text) -> Event | None:
    """The errand of the last day that ended without its answer, which this text is after all."""
    if not controller.errands:
        return None
    since = text.heard_at - LATE_ANSWER_WITHIN
    ended = reader.events(controller=controller.id, kinds=ENDS, since=since, limit=LOOKED_AT)
    answered = {event.detail["order"] for event in ended if event.kind == "errand-answered"}
    for event in reversed(ended):
        errand = errand_called(controller, event.detail["errand"])
        waited = event.kind in ("errand-unanswered", "errand-unexpected") and event.detail["order"] not in answered
        expected = errand is not None and errand.answer not in ("", ANYTHING)
        if waited and expected and errand is not None and _answers_late(reader, errand, event, text):
            return event
    return None


def step_of(reader: Reader, controller: Controller, under_way: ErrandUnderWay, now: datetime) -> Next:
    """What comes next of what is under way."""
    errand = errand_called(controller, under_way.errand)
    message = reader.message(under_way.message)
    if errand is None:
        return Next(course="take-back")
    return next_step(
        under_way,
        message.state if message is not None else None,
        within=errand.within,
        tries=errand.tries,
        expects=bool(errand.answer),
        now=now,
    )


def errand_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When what is under way, and what was switched, must be looked at next."""
    for controller_id, under_way in reader.states(ErrandUnderWay).items():
        controller = site.controllers.get(controller_id)
        step = step_of(reader, controller, under_way, now) if controller is not None else Next(course="take-back")
        if step.course != "wait":
            yield now
        elif step.due is not None:
            yield step.due
    for switched in reader.states(Switched).values():
        yield from _switched_dues(reader, switched, now)


def _switched_dues(reader: Reader, switched: Switched, now: datetime) -> Iterator[datetime]:
    message = reader.message(switched.message) if switched.message is not None else None
    if message is None:
        yield switched.until
        return
    ended = message.state in ("sent", "delivered", "failed")
    untold = message.state != "sending" and message.tries > 0 and not switched.told
    waits_long = message.not_before is not None and message.not_before - now > STOP_TRIED_EVERY
    if ended or untold or waits_long:
        yield now


def unanswered_since(reader: Reader, controller: Controller, since: datetime) -> datetime | None:
    """When the box was last sent an errand that it has not answered, if that was since then: what a silence message names."""
    times = []
    under_way = reader.state(ErrandUnderWay, controller.id)
    if under_way is not None and under_way.sent_at is not None:
        times.append(under_way.sent_at)
    last = reader.last_event(("errand-unanswered",), controller=controller.id)
    if last is not None and last.detail.get("expected", True):
        times.append(datetime.fromisoformat(last.detail["sent_at"]))
    return max((at for at in times if at >= since), default=None)


def end_of(reader: Reader, controller: str, order: int, since: datetime) -> Event | None:
    """How the errand of that order ended; None: it has not yet."""
    ended = reader.events(controller=controller, kinds=ENDS, since=since - WRITTEN_BEFORE)
    return next((event for event in ended if event.detail.get("order") == order), None)


def result_json(site: Site, controller: str, event: Event) -> Mapping[str, object]:
    """The contract's document of how an errand ended."""
    states = dict(zip(ENDS, ("answered", "unexpected", "no-answer", "refused"), strict=True))
    detail = event.detail
    return {
        "controller": controller,
        "errand": detail["errand"],
        "state": states[event.kind],
        "sent_at": _local(site, detail.get("sent_at")),
        "answer": event.text,
        "answered_at": _local(site, detail.get("answered_at")),
        "round_trip_s": detail.get("round_trip_s"),
        "why": detail.get("why"),
        "tries": detail.get("tries", 0),
        "cost": detail.get("cost"),
    }


def _local(site: Site, at: str | None) -> str | None:
    return datetime.fromisoformat(at).astimezone(site.zone).isoformat() if at else None


def _may_answer(reader: Reader, under_way: ErrandUnderWay, text: Text) -> bool:
    """Whether it was on its way when the text was written: a text that was written before is none, however late it comes."""
    sent_at = under_way.sent_at
    if sent_at is None:
        message = reader.message(under_way.message)
        # a quick box answers before the modem's own answer was handled
        sent_at = under_way.put_at if message is not None and message.state == "sending" else None
    return sent_at is not None and _written_at(reader, text) >= sent_at - WRITTEN_BEFORE


def _written_at(reader: Reader, text: Text) -> datetime:
    """By our own clock, by which errands leave: where the network's stamps agree that it is wrong, theirs are put back by as much."""
    return text.at - clock_off(reader, text.heard_at)


def _answers_late(reader: Reader, errand: Errand, ended: Event, text: Text) -> bool:
    sent_at = ended.detail.get("sent_at")
    written_since = (
        sent_at is not None and _written_at(reader, text) >= datetime.fromisoformat(sent_at) - WRITTEN_BEFORE
    )
    return written_since and _read_as_answer(errand, text) is not None


def _read_as_answer(errand: Errand, text: Text) -> Reading | None:
    return read_answer(compile_answer(errand.answer), text.text) if errand.answer else None


def _as(reading: Reading, means: Literal["reading", "alive"]) -> Reading:
    return Reading(means=means, rule=reading.rule, word=reading.word, clock=reading.clock, numbers=reading.numbers)


def first_steps(controller: Controller) -> Sequence[Errand]:
    """What a new box is set up with: its errands that set, in the order of the file."""
    return [errand for errand in controller.errands if errand.risk == "sets"]
