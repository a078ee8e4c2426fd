"""A proposal from bare texts, and what each text truly means → the rules as a person would leave them.

The person does only what the marks ask for: says what a rule means from the samples it reads, sorts the state words, and
fixes an input or a state that the text does not tell.
"""

from collections.abc import Mapping

from gateway.facts import input_key
from gateway.rules.compiled_rule import compile_rule
from gateway.rules.folded_text import FoldedText, fold
from gateway.settings.models import RuleTable
from gateway.suggest.suggest_rules import SuggestedRule, Suggestion


def decided(suggestion: Suggestion, truth: Mapping[str, str]) -> list[RuleTable]:
    """`truth`: single-spaced text → label. A rule whose samples mean different things is left as it is."""
    return [_decide(suggested, truth) if suggested.decide else suggested.rule for suggested in suggestion.rules]


def _decide(suggested: SuggestedRule, truth: Mapping[str, str]) -> RuleTable:
    labels = [_meant(truth, text).split() for text in suggested.reads]
    kinds = {label[0] for label in labels}
    if kinds != {"input"}:
        means = kinds.pop() if len(kinds) == 1 else suggested.rule.means
        return suggested.rule.model_copy(update={"means": means, "state": None} if means != "input" else {})
    inputs, states = {label[1] for label in labels}, {label[-1] for label in labels}
    change: dict[str, object] = {"means": "input"}
    text = suggested.rule.text or ""
    if "{input}" not in text and len(inputs) == 1:
        change["input"] = inputs.pop()
    if "{state}" in text:
        change |= _sorted_words(suggested.rule, suggested.reads, labels)
    elif len(states) == 1:
        change |= {"state": states.pop(), "active": (), "idle": ()}
    return suggested.rule.model_copy(update=change)


def _meant(truth: Mapping[str, str], text: str) -> str:
    """Also where what stood in front was taken off."""
    return truth[text] if text in truth else next(label for whole, label in truth.items() if whole.endswith(text))


def _sorted_words(rule: RuleTable, texts: tuple[str, ...], labels: list[list[str]]) -> dict[str, object]:
    compiled = compile_rule(rule, 1)
    said: dict[str, set[str]] = {}
    for text, label in zip(texts, labels, strict=True):
        for match in compiled.find_matches(FoldedText.of(text), 1.0):
            fits = rule.scope == "whole" or input_key(match["input"]) == input_key(label[1])
            if fits and not isinstance(match, str):
                said.setdefault(fold(match["state"]), set()).add(label[-1])
    words = {
        state: tuple(word for word in rule.active if said.get(fold(word)) == {state}) for state in ("active", "idle")
    }
    return dict(words)
