"""The errands of the controllers, and how often the chain to the people is tested → what does not hold between their keys.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them. Whether an answer's pattern can work, and whether any rule
reads it, needs the rules' compiler: `commands.errand_answer_checks`.
"""

import re
from collections.abc import Iterator, Sequence
from datetime import timedelta

from gateway.errors import Problem
from gateway.settings.controller_tables import Controller, Errand
from gateway.settings.key_lines import KeyPath
from gateway.settings.models import Settings
from gateway.settings.people_tables import Contact
from gateway.settings.problem_locator import ProblemLocator, nearest_word

ASK_ID = "ask"
"""The errand that a controller's `ask` is."""
ERRAND_FIELD = re.compile(r"\{(time|gateway)\}")
_BRACED = re.compile(r"\{([^{}\s]*)\}")
_ONE_WORD = re.compile(r"[^\s:;,]+")
LEAST_DRILL_EVERY = timedelta(days=366)
"""Once a year at least: what standards for intruder alarms ask of the lowest grade (CLC/TS 50131-7: one visit a year; from memory)."""


def check_errands(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Each controller's errands, then the drill."""
    for index, controller in enumerate(settings.controllers):
        ids: set[str] = set()
        for place, errand in enumerate(controller.errands):
            here = ("controllers", index, "errands", place)
            yield from _check_id(errand, controller, ids, here, locator)
            ids.add(errand.id.casefold())
            yield from _check_text(errand, settings, here, locator)
            yield from _check_times(errand, here, locator)
            yield from _check_switching(errand, here, locator)
            yield from _check_who_may(errand, settings.contacts, here, locator)
    yield from _check_drill(settings, locator)


def _check_id(
    errand: Errand, controller: Controller, ids: set[str], here: KeyPath, locator: ProblemLocator
) -> Iterator[Problem]:
    key = (*here, "id")
    if not _ONE_WORD.fullmatch(errand.id):
        wrong = f"{errand.id!r} cannot be said in a text: ASK {controller.id} {errand.id}"
        yield locator.problem(key, found=errand.id, wrong=wrong, right='one word, such as "status"')
    elif errand.id.casefold() in ids:
        wrong = f"{controller.id!r} has another errand {errand.id!r}"
        yield locator.problem(key, found=errand.id, wrong=wrong, right="another id")
    elif errand.id.casefold() == ASK_ID and (controller.ask.text or controller.ask.text_file):
        wrong = f"the asking text of {controller.id!r} is its errand {ASK_ID!r} already"
        yield locator.problem(key, found=errand.id, wrong=wrong, right="another id")


def _check_text(errand: Errand, settings: Settings, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    if not errand.text.strip() and not errand.text_file:
        right = 'text = "…", or text_file = a file that holds it'
        yield locator.problem((*here, "text"), found="nothing", wrong="is needed", right=right)
    for key, text in (("text", errand.text), ("stop_text", errand.stop_text)):
        for field in _BRACED.findall(text):
            if field not in ("time", "gateway"):
                wrong = f"{{{field}}} is nothing that is filled in: it leaves as it stands"
                yield locator.note((*here, key), found=text, wrong=wrong, right="{time} and {gateway} are")
        if "{gateway}" in text and not settings.modem.number:
            wrong = "the gateway knows its own number only if its SIM tells it; if not, this errand cannot leave"
            yield locator.note((*here, key), found=text, wrong=wrong, right='number = "…" in [modem]')


def _check_times(errand: Errand, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    if errand.within <= timedelta(0):
        wrong = "leaves no time for an answer"
        yield locator.problem((*here, "within"), found="0s", wrong=wrong, right='such as "5m"')


def _check_switching(errand: Errand, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    switches, ends = errand.risk == "switches", errand.longest > timedelta(0)
    for key, given in (("longest", ends), ("stop_text", bool(errand.stop_text))):
        if given and not switches:
            wrong = f"only an errand that switches ends by itself, and this one {errand.risk}"
            right = 'risk = "switches", or leave it out'
            yield locator.problem((*here, key), found=errand.risk, wrong=wrong, right=right)
    if switches and ends and not errand.stop_text.strip():
        wrong = "nothing is said that would end it"
        yield locator.problem((*here, "longest"), found="no stop_text", wrong=wrong, right='stop_text = "…"')
    if switches and not ends and errand.stop_text.strip():
        wrong = "it never leaves: nothing says after how long"
        yield locator.problem((*here, "stop_text"), found="no longest", wrong=wrong, right='longest = "30m"')
    if switches and not ends and not errand.stop_text.strip():
        wrong = "what it switches stays so until somebody ends it"
        yield locator.note((*here, "risk"), found="switches", wrong=wrong, right='longest = "30m" and stop_text = "…"')


def _check_who_may(
    errand: Errand, contacts: Sequence[Contact], here: KeyPath, locator: ProblemLocator
) -> Iterator[Problem]:
    contact_of_id = {contact.id: contact for contact in contacts}
    for place, contact_id in enumerate(errand.may):
        contact, key = contact_of_id.get(contact_id), (*here, "may", place)
        if contact is None:
            yield locator.problem(
                key,
                found=contact_id,
                wrong=f"there is no contact {contact_id!r}",
                right=f"of {', '.join(contact_of_id)}",
                suggestion=nearest_word(contact_id, contact_of_id),
            )
        elif not contact.may_ask:
            wrong = f"{contact_id!r} may not ask (may_ask = false), so that no text orders it"
            yield locator.note(key, found=contact_id, wrong=wrong, right="may_ask = true, or leave them out")
        elif contact.line == "landline" and errand.risk != "looks":
            wrong = f"{contact_id!r} is a landline, and none may order what {errand.risk}"
            yield locator.note(key, found=contact_id, wrong=wrong, right="a mobile")


def _check_drill(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    every = settings.drill.every
    if every == timedelta(0):
        right = 'such as "90d"; "": only on demand'
        yield locator.problem(("drill", "every"), found="0s", wrong="tests without end", right=right)
    elif every is not None and every > LEAST_DRILL_EVERY:
        wrong = "is rarer than once a year"
        yield locator.note(("drill", "every"), found=every, wrong=wrong, right='common practice: each quarter, "90d"')
