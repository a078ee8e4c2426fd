"""The errands' answers against the rules of their controller → patterns that no text fits, and answers that no rule reads."""

from collections.abc import Iterator

from gateway.errors import Problem
from gateway.rules.answer_pattern import answer_mistake, some_rule_reads
from gateway.rules.rule_checks import find_rule_problems
from gateway.rules.rulebook import compile_rulebook
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator


def errand_answer_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Each errand that expects an answer. One that no rule reads counts as answered all the same, but moves nothing."""
    for index, controller in enumerate(settings.controllers):
        sound = [rule for rule in controller.rules if not find_rule_problems(rule)]
        for place, errand in enumerate(controller.errands):
            if not errand.answer:
                continue
            here = ("controllers", index, "errands", place, "answer")
            mistake = answer_mistake(errand.answer)
            if mistake is not None:
                yield locator.problem(here, found=errand.answer, wrong=mistake[0], right=mistake[1])
            elif not some_rule_reads(compile_rulebook(sound), errand.answer):
                wrong = f"no rule of {controller.id!r} could read the answer to its errand {errand.id!r} ({errand.answer!r})"
                right = "a rule for it, if what it says should count; a sign of life it is anyhow"
                yield locator.note(here, found=errand.answer, wrong=wrong, right=right)
