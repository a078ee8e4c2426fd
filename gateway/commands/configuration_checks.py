"""The configuration against what other rooms know → problems and warnings, each at its key: rules, floats, names, phrases, the balance.

`settings` checks what can be seen in the tables themselves; here are the checks that need the rules' compiler, the phrases or the alphabet.
Every command that loads the configuration runs them. A name that is told to be too long is not told again among the messages that are cut.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Literal

from gateway.commands.errand_answer_checks import errand_answer_checks
from gateway.commands.float_end_checks import end_checks
from gateway.commands.own_phrase_checks import own_phrase_checks, unsure_phrases
from gateway.errors import Problem
from gateway.gsm.segments import measure_text
from gateway.gsm.transliterate import transliterate
from gateway.phone_numbers import is_network_code
from gateway.phrases import Phrasebook, languages, load_phrases
from gateway.phrases.review import review_phrases, takes_more_for_names
from gateway.rules.credit_amount import amount_pattern_mistake
from gateway.rules.rule_checks import find_rule_oddities, find_rule_problems
from gateway.rules.template import FIELDS
from gateway.rules.unreachable import can_tell_of_input, hides_rule
from gateway.settings.controller_tables import Controller, Input, RuleTable
from gateway.settings.key_lines import KeyPath
from gateway.settings.load import ExtraCheck
from gateway.settings.models import Settings
from gateway.settings.mqtt_checks import mqtt_reach_checks
from gateway.settings.pin_file import pin_checks
from gateway.settings.problem_locator import ProblemLocator, nearest_word
from gateway.settings.water_tables import Float, Gauge, Tank
from gateway.site import household_phrases, segments_allowed

KEYS_SHOWN = 4
SHORTEST_ASKING = timedelta(hours=1)
"""A network may bar a SIM that asks all the time (common practice)."""


def rule_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Rules that cannot work, and rules that an earlier one always hides."""
    for index, controller in enumerate(settings.controllers):
        for number, rule in enumerate(controller.rules):
            path = ("controllers", index, "rules", number)
            written, problems = rule.text or rule.regex or "", find_rule_problems(rule)
            for flaw in problems:
                meant = _field_meant(flaw.unknown, in_text=flaw.key == "text")
                here = (*path, flaw.key)
                yield locator.problem(here, found=written, wrong=flaw.wrong, right=flaw.right, suggestion=meant)
            for flaw in find_rule_oddities(rule):
                yield locator.note((*path, flaw.key), found=written, wrong=flaw.wrong, right=flaw.right)
            if not problems and _hidden(rule, controller.rules[:number]):
                hidden = "an earlier rule takes every text that this one would read"
                yield locator.note(path, found=written, wrong=hidden, right="put the narrower rule first")


def reach_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Floats, gauges, tanks and other inputs that no text can reach, since no rule of their controller tells of the input."""
    rules = {controller.id: controller.rules for controller in settings.controllers if controller.rules}

    def unreached(sensor: Float | Gauge | Input) -> bool:
        means: Literal["input", "level"] = "level" if isinstance(sensor, Gauge) else "input"
        own = rules.get(sensor.controller)
        return own is not None and not can_tell_of_input(own, sensor.input, means)

    for index, tank in enumerate(settings.tanks):
        sensors: list[tuple[KeyPath, Float | Gauge]] = [
            *((("tanks", index, "floats", place), switch) for place, switch in enumerate(tank.floats)),
            *((("tanks", index, "gauges", place), gauge) for place, gauge in enumerate(tank.gauges)),
        ]
        lost = [(here, sensor) for here, sensor in sensors if unreached(sensor)]
        whole_tank = f": no text can reach {tank.name!r}" if len(lost) == len(sensors) else ""
        yield from (_unreached(here, sensor, whole_tank, locator) for here, sensor in lost)
    for index, own in enumerate(settings.inputs):
        if unreached(own):
            yield _unreached(("inputs", index), own, "", locator)


def _unreached(here: KeyPath, sensor: Float | Gauge | Input, more: str, locator: ProblemLocator) -> Problem:
    level = isinstance(sensor, Gauge)
    fixed = "" if level else ' and state = "…"'
    return locator.note(
        (*here, "input"),
        found=str(sensor.input),
        wrong=f"no rule of {sensor.controller!r} tells of {'the level of ' if level else ''}input {sensor.input}{more}",
        right=f"a rule with {'{level} and ' if level else ''}{{input}} in its text, or with input = …{fixed}",
    )


def name_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Names that a message cannot carry as they are, or that make it longer: other letters, or many of them."""
    book = _book(settings)
    named: list[tuple[str, int, Tank | Controller]] = [("tanks", *tank) for tank in enumerate(settings.tanks)]
    named += [("controllers", *controller) for controller in enumerate(settings.controllers)]
    for table, index, whose in named:
        if measure_text(whose.name).alphabet != "gsm7" and not book.has_own_alphabet:
            yield locator.note(
                (table, index, "name"),
                found=whose.name,
                wrong=f"has letters that a plain text lacks; messages will say {transliterate(whose.name)!r}",
                right="a name in plain letters, if you would rather choose it yourself",
            )
        if _too_long(book, whose, segments_allowed(settings, book)):
            yield locator.note(
                (table, index, "name"),
                found=whose.name,
                wrong="is long: messages with it take a further segment, since who, what and how to answer are never cut",
                right="a shorter name, or more limits.segments",
            )


def phrase_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """What the phrases of `site.language` lack, what is longer or in other letters; an unknown language is another check's matter."""
    if settings.site.language not in languages():
        return
    book = _book(settings)
    reviewed = review_phrases(book, _longest_names(book, settings), segments_allowed(settings, book))
    if reviewed.lacking:
        wrong = f"lacks phrases, said in English: {_some(reviewed.lacking)}"
        yield _language_remark(settings, locator, wrong, "a complete phrase file")
    if reviewed.longer:
        wrong = f"some messages take a further segment with your longest names: {_some(reviewed.longer)}"
        yield _language_remark(settings, locator, wrong, "shorter names, or more limits.segments")
    if book.in_one_segment and book.has_own_alphabet:
        wrong = "with limits.segments = 1 what is longer than 70 characters leaves in Latin letters"
        yield _language_remark(settings, locator, wrong, "limits.segments left out (two then), or 2 and more")
    elif book.has_own_alphabet:
        wrong = "needs letters that plain texts lack: a segment holds 70 characters instead of 160, so two are allowed"
        yield _language_remark(settings, locator, wrong, "nothing need be done")
    elif reviewed.letters:
        wrong = (
            f"has letters that plain texts lack ({reviewed.letters}); messages say {transliterate(reviewed.letters)}"
        )
        yield _language_remark(settings, locator, wrong, "nothing need be done")


def native_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Which phrases a native reader has still to judge."""
    unsure = unsure_phrases(settings) if settings.site.language in languages() else ()
    if unsure:
        wrong = f"has phrases that no native reader has judged yet: {_some(unsure)}"
        right = "look at them with tank-gateway phrases; say them otherwise in a file that site.phrases names"
        yield _language_remark(settings, locator, wrong, right)


def balance_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """The question about the SIM's credit: a code that can be dialled, a pattern that can find an amount, not asked too often."""
    balance = settings.balance
    if balance.ussd and not is_network_code(balance.ussd):
        yield locator.problem(
            ("balance", "ussd"), found=balance.ussd, wrong="is no code", right='what one dials, such as "*100#"'
        )
    right = r"such as '(?P<amount>[\d.,]+) AUD', around what the network answers"
    wrong = amount_pattern_mistake(balance.pattern) if balance.pattern else "is empty, so that no answer could be read"
    if wrong and (balance.ussd or balance.pattern):
        # Without a pattern there is no line of it to point at: the question's own line is shown.
        key = ("balance", "pattern") if balance.pattern else ("balance", "ussd")
        yield locator.problem(key, found=balance.pattern, wrong=wrong, right=f"balance.pattern {right}")
    if balance.ussd and balance.every < SHORTEST_ASKING:
        yield locator.problem(
            ("balance", "every"), found=balance.every, wrong="asks too often", right='an hour at least, such as "7d"'
        )


EXTRA_CHECKS: tuple[ExtraCheck, ...] = (
    rule_checks,
    reach_checks,
    errand_answer_checks,
    end_checks,
    name_checks,
    phrase_checks,
    own_phrase_checks,
    native_checks,
    balance_checks,
)
"""In the order in which their problems are told."""
SERVE_CHECKS: tuple[ExtraCheck, ...] = (*EXTRA_CHECKS, pin_checks, mqtt_reach_checks)
"""What `serve` needs besides, so that `check` and `doctor` name it; the other commands do without."""


def _hidden(rule: RuleTable, earlier: Sequence[RuleTable]) -> bool:
    """Whether one that works and stands before it takes all of its texts."""
    return any(hides_rule(before, rule) for before in earlier if not find_rule_problems(before))


def _field_meant(unknown: str | None, *, in_text: bool) -> str | None:
    """The field that was meant where one was misspelt, as it is written in a text or in a regex."""
    guess = nearest_word(unknown, FIELDS) if unknown else None
    return f"{{{guess}}}" if guess and in_text else guess


def _book(settings: Settings) -> Phrasebook:
    """Ours, in the letters that the household's messages have; its own file is another check's matter."""
    if settings.site.language not in languages():
        return load_phrases("en")
    return household_phrases(
        settings.model_copy(update={"phrases": "", "site": settings.site.model_copy(update={"phrases": ""})})
    )


def _too_long(book: Phrasebook, whose: Tank | Controller, segments: int) -> bool:
    """Whether its weightiest message needs a further segment for its name, and would not for a short one."""
    kind, field = ("low", "tank") if isinstance(whose, Tank) else ("silent", "controller")
    return takes_more_for_names(book, book.data["said"][kind], {field: whose.name}, segments)


def _longest_names(book: Phrasebook, settings: Settings) -> dict[str, str]:
    """The longest of each kind of name that is not too long by itself."""

    def fitting(all_named: Sequence[Tank] | Sequence[Controller]) -> list[str]:
        return [whose.name for whose in all_named if not _too_long(book, whose, segments_allowed(settings, book))]

    contact = _longest([contact.name for contact in settings.contacts])
    return {
        "tank": _longest(fitting(settings.tanks)),
        "controller": _longest(fitting(settings.controllers)),
        "who": contact,
        "name": contact,
        "site": settings.site.name,
    }


def _longest(names: Sequence[str]) -> str:
    return max(names, key=len, default="")


def _language_remark(settings: Settings, locator: ProblemLocator, wrong: str, right: str) -> Problem:
    return locator.note(("site", "language"), found=settings.site.language, wrong=wrong, right=right)


def _some(keys: Sequence[str]) -> str:
    """The first few, and how many more."""
    more = len(keys) - KEYS_SHOWN
    return ", ".join(keys[:KEYS_SHOWN]) + (f" and {more} more" if more > 0 else "")
