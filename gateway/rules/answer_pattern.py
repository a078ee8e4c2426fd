"""The answer that an errand expects, a pattern as in rules: whether a text is it, what it reads, and whether any rule reads it too."""

from collections.abc import Iterator
from itertools import islice

from gateway.facts import Reading
from gateway.rules.compiled_rule import RULE_LIMIT_S, CompiledRule, compile_rule
from gateway.rules.folded_text import FoldedText
from gateway.rules.rule_checks import find_rule_problems
from gateway.rules.rulebook import Rulebook
from gateway.rules.unreachable import sample_texts
from gateway.settings.controller_tables import RuleTable

OF_NO_RULE = 0
"""The number under which an answer's readings stand: rules count from 1."""
_TEXTS_TRIED = 200


def compile_answer(answer: str) -> CompiledRule:
    """The pattern of an errand's `answer`, ready to be tried."""
    return compile_rule(_table(answer), OF_NO_RULE)


def read_answer(pattern: CompiledRule, text: str) -> Reading | None:
    """What the text reads as that answer; None: it is another text."""
    folded = FoldedText.of(text)
    matches = pattern.find_matches(folded, RULE_LIMIT_S)
    if matches == "timed-out":
        return None
    readings = (pattern.reading_of(folded, match) for match in matches)
    return next((reading for reading in readings if reading is not None), None)


def answer_mistake(answer: str) -> tuple[str, str] | None:
    """(what is wrong, what would be right) of a pattern that no text fits."""
    problem = next(iter(find_rule_problems(_table(answer))), None)
    return None if problem is None else (problem.wrong, problem.right)


def some_rule_reads(book: Rulebook, answer: str) -> bool:
    """Whether any text that is this answer would be read by a rule; tried with texts made from the pattern and from the rules."""
    pattern = compile_answer(answer)
    return any(book.read(text).rule is not None for text in islice(_answers(pattern, book), _TEXTS_TRIED))


def _table(answer: str) -> RuleTable:
    return RuleTable(text=answer, means="alive")


def _answers(pattern: CompiledRule, book: Rulebook) -> Iterator[str]:
    """Texts that fit the pattern: its own samples, and those of the rules that fit it (of `*` alone that is each of them)."""
    texts = (text for rule in book.rules for text in islice(sample_texts(rule), 8))
    yield from (text for text in texts if read_answer(pattern, text) is not None)
    yield from sample_texts(pattern)
