"""Rules → for a given text, the few that can fit it, in their order.

A template's literal words must stand in the text, and so must one of its state words. Each rule is filed under the runs
of letters or digits that are rarest among all rules; a text is looked up by the runs that stand in it, so the work
does not grow with the number of rules. Rules with nothing to file them under (bare fields, unusual regexes) are always
tried.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from gateway.facts import NUMBER_FIELDS
from gateway.rules.compiled_rule import CompiledRule
from gateway.rules.folded_text import FoldedText, find_runs
from gateway.rules.regex_words import certain_words
from gateway.rules.template import Field, Gap, Piece, Word

Keys = frozenset[str]
"""At least one of these runs stands in every text the rule fits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleIndex:
    """`filed`: run → places of rules; `always`: places of rules that are tried on every text."""

    rules: tuple[CompiledRule, ...]
    filed: dict[str, tuple[int, ...]]
    always: tuple[int, ...]

    def candidates(self, text: FoldedText) -> list[CompiledRule]:
        """The rules that can fit a text, in order."""
        places = set(self.always)
        for run in text.runs:
            places.update(self.filed.get(run, ()))
        return [self.rules[place] for place in sorted(places)]


def index_rules(rules: Iterable[CompiledRule]) -> RuleIndex:
    """Rules → an index that files every rule that is not broken under its rarest demand."""
    sound = tuple(rule for rule in rules if not rule.broken)
    demands = [required_runs(rule) for rule in sound]
    asked = Counter(run for demand in demands for keys in demand for run in keys)
    filed: dict[str, list[int]] = {}
    always = []
    for place, demand in enumerate(demands):
        if not demand:
            always.append(place)
            continue
        best = min(demand, key=lambda keys: (sum(asked[run] for run in keys), -min(map(len, keys)), sorted(keys)))
        for run in best:
            filed.setdefault(run, []).append(place)
    return RuleIndex(rules=sound, filed={run: tuple(places) for run, places in filed.items()}, always=tuple(always))


def required_runs(rule: CompiledRule) -> list[Keys]:
    """What must stand in a text that the rule fits: of each set, one run at least."""
    if rule.pieces is None:
        return [frozenset({word}) for word in certain_words(rule.source, whole=not rule.is_anywhere)]
    demands: list[Keys] = []
    for at, piece in enumerate(rule.pieces):
        left, right = _neighbour(rule.pieces, at - 1), _neighbour(rule.pieces, at + 1)
        if isinstance(piece, Word):
            demands.extend(frozenset({run}) for run in _uncut_runs(piece.text.casefold(), left, right))
        elif piece == Field("state") and rule.states:
            runs_of_states = [_uncut_runs(word, left, right) for word in rule.states]
            if all(runs_of_states):
                demands.append(frozenset(max(runs, key=len) for runs in runs_of_states))
    return demands


def _neighbour(pieces: Sequence[Piece], at: int) -> Piece | None:
    return pieces[at] if 0 <= at < len(pieces) else None


def _uncut_runs(word: str, left: Piece | None, right: Piece | None) -> list[str]:
    """Runs of the word that are whole runs of any text it stands in, whatever a field or star beside it takes."""
    runs = find_runs(word)
    if runs and word.startswith(runs[0]) and not _ends_run(left, runs[0]):
        runs = runs[1:]
    if runs and word.endswith(runs[-1]) and not _ends_run(right, runs[-1]):
        runs = runs[:-1]
    return runs


def _ends_run(beside: Piece | None, run: str) -> bool:
    """Whether what stands beside a run cannot lengthen it: white space, an end of the text, digits beside letters."""
    if beside is None or isinstance(beside, Gap):
        return True
    return isinstance(beside, Field) and beside.name in NUMBER_FIELDS and run.isalpha()
