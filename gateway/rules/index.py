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
from gateway.rules.compiled import CompiledRule
from gateway.rules.folded import FoldedText, runs
from gateway.rules.regex_words import sure_words
from gateway.rules.template import Field, Gap, Piece, Star, Word

Keys = frozenset[str]
"""At least one of these runs stands in every text the rule fits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleIndex:
    """`filed`: run → places of rules; `always`: places of rules that are tried on every text."""

    rules: tuple[CompiledRule, ...]
    filed: dict[str, tuple[int, ...]]
    always: tuple[int, ...]

    def candidates(self, text: FoldedText) -> list[CompiledRule]:
        """Those that can fit, in order."""
        places = set(self.always)
        for run in text.runs:
            places.update(self.filed.get(run, ()))
        return [self.rules[place] for place in sorted(places)]


def index_rules(rules: Iterable[CompiledRule]) -> RuleIndex:
    """Files every rule that is not broken under its rarest demand."""
    sound = tuple(rule for rule in rules if not rule.broken)
    demands = [required(rule) for rule in sound]
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


def required(rule: CompiledRule) -> list[Keys]:
    """What must stand in a text that the rule fits: of each set, one run at least."""
    if rule.pieces is None:
        return [frozenset({word}) for word in sure_words(rule.source, whole=not rule.anywhere)]
    demands: list[Keys] = []
    for at, piece in enumerate(rule.pieces):
        left, right = _neighbour(rule.pieces, at - 1), _neighbour(rule.pieces, at + 1)
        if isinstance(piece, Word):
            demands.extend(frozenset({run}) for run in _whole_runs(piece.text.casefold(), left, right))
        elif piece == Field("state") and rule.states:
            found = [_whole_runs(word, left, right) for word in rule.states]
            if all(found):
                demands.append(frozenset(max(words, key=len) for words in found))
    return demands


def _neighbour(pieces: Sequence[Piece], at: int) -> Piece | None:
    return pieces[at] if 0 <= at < len(pieces) else None


def _whole_runs(word: str, left: Piece | None, right: Piece | None) -> list[str]:
    """Runs of the word that are whole runs of any text it stands in, whatever a field or star beside it takes."""
    found = runs(word)
    if found and word.startswith(found[0]) and not _apart(left, found[0], before=True):
        found = found[1:]
    if found and word.endswith(found[-1]) and not _apart(right, found[-1], before=False):
        found = found[:-1]
    return found


def _apart(beside: Piece | None, run: str, *, before: bool) -> bool:
    """Whether what stands beside cannot lengthen the run."""
    if beside is None or isinstance(beside, Gap):
        return True
    number = isinstance(beside, Field) and beside.name in NUMBER_FIELDS
    return number and run.isalpha() and not isinstance(beside, Star)
