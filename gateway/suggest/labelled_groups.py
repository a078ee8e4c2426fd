"""Labelled texts of one kind → the fewest, plainest forms that tell their labels apart.

Texts with the same row of symbols begin as one group. The two groups whose joining saves most are joined, again and
again, until joining saves nothing. What a group costs is what its rules cost a reader: so much a rule, a word, a star, a
state word, and something for every word that a star swallows, since a rule that swallows words reads what it should not.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gateway.settings.controller_tables import RuleTable
from gateway.suggest.aligned_texts import AlignedTexts, TokenisedText, align_texts
from gateway.suggest.labelled_fields import Fields, find_labelled_fields
from gateway.suggest.proof import count_misread
from gateway.suggest.rules_of_one_form import Draft, draft_rules

Judge = Callable[[Sequence[RuleTable], Sequence[TokenisedText]], int | None]
"""How many samples these rules would read wrongly if nothing stood above them; None: they do not read these texts."""

_RULE, _NEXT_RULE, _WORD, _STAR, _STATE_WORD, _FIXED = 9.0, 3.0, 0.6, 1.5, 1.0, 1.0
_SWALLOWED = {
    "input": 0.35,
    "fixed": 1.0,
    "alive": 1.2,
    "power-lost": 1.5,
    "power-back": 1.5,
    "ignore": 1.0,
    "reading": 0.5,
}
_WRONG = 16.0
"""For a sample of another kind that the rule would take if no other rule stood above it."""
_EXACT = 4.0
"""For keeping a number that was the same in all texts by chance, perhaps."""
_LIKELY = 4
"""Ways to see fields in two groups that are weighed before they are joined."""
_MOST_GROUPS = 36
_MOST_LAID = 24
"""Texts of one group that are laid upon each other; the rest must be read by what comes of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Some texts, the draft that reads them (None: none does) and its cost."""

    tokenised: tuple[TokenisedText, ...]
    draft: Draft | None
    cost: float


def group_texts(tokenised: Sequence[TokenisedText], judge: Judge, *, fixed: bool = False) -> list[Group]:
    """Groups with their drafts; a group without a draft cannot be told apart by one rule.

    Tried: all in one, joined pair by pair, and the same for each state alone; the cheapest is taken.
    """
    whole = _group(tokenised, judge, fixed)
    by_row = _rows(tokenised, judge, fixed)
    if whole.draft is not None and not whole.draft.eaten and whole.cost < _price(by_row):
        return [whole]
    plans = [[whole], _joined(by_row, judge, fixed)]
    states = _states(tokenised)
    if len(states) > 1:
        parts = [[sample for sample in tokenised if sample.label and sample.label.state == state] for state in states]
        plans.append([group for part in parts for group in _one_state(part, judge, fixed)])
    return min(plans, key=lambda plan: (count_misread(rules_of(plan), tokenised), _price(plan)))


def rules_of(groups: Sequence[Group]) -> list[RuleTable]:
    """The rules of all drafts."""
    return [rule for group in groups if group.draft is not None for rule in group.draft.rules]


def _states(tokenised: Sequence[TokenisedText]) -> list[str]:
    return sorted({sample.label.state or "" for sample in tokenised if sample.label})


def _one_state(tokenised: Sequence[TokenisedText], judge: Judge, fixed: bool) -> list[Group]:
    whole = _group(tokenised, judge, fixed)
    joined = _joined(_rows(tokenised, judge, fixed), judge, fixed)
    return [whole] if whole.draft is not None and whole.cost <= _price(joined) else joined


def _price(groups: Sequence[Group]) -> float:
    return sum(group.cost for group in groups)


def _rows(tokenised: Sequence[TokenisedText], judge: Judge, fixed: bool) -> list[Group]:
    """Texts with the same row of symbols, the most frequent rows."""
    rows: dict[tuple[str, ...], list[TokenisedText]] = {}
    for sample in tokenised:
        rows.setdefault(tuple(token.symbol for token in sample.tokens), []).append(sample)
    return [_group(texts, judge, fixed) for texts in sorted(rows.values(), key=len, reverse=True)[:_MOST_GROUPS]]


def _joined(groups: list[Group], judge: Judge, fixed: bool) -> list[Group]:
    """Joins the pair that saves most until none saves anything."""
    table = dict(enumerate(groups))
    savings = {(a, b): _saving(table[a], table[b], fixed) for a in table for b in table if a < b}
    while savings:
        pair = max(savings, key=lambda pair: (savings[pair], -pair[0], -pair[1]))
        if savings.pop(pair) <= 0:
            break
        first, second = table[pair[0]], table[pair[1]]
        group = _group((*first.tokenised, *second.tokenised), judge, fixed)
        if group.draft is None or group.cost >= first.cost + second.cost:
            continue
        savings = {key: value for key, value in savings.items() if not set(key) & set(pair)}
        number = max(table) + 1
        del table[pair[0]], table[pair[1]]
        savings.update({(a, number): _saving(table[a], group, fixed) for a in table})
        table[number] = group
    return list(table.values())


def _saving(first: Group, second: Group, fixed: bool) -> float:
    """What joining would save if the judge has nothing against it."""
    aligned = align_texts(spread((*first.tokenised, *second.tokenised)))
    likely = sorted(ways(aligned), key=lambda fields: fields.oddness)[:_LIKELY]
    cheapest = min(
        (cost(aligned, draft_rules(aligned, fields, fixed=fixed)) for fields in likely), default=float("inf")
    )
    return first.cost + second.cost - cheapest


def _group(tokenised: Sequence[TokenisedText], judge: Judge, fixed: bool) -> Group:
    aligned = align_texts(spread(tokenised))
    options: list[tuple[float, int, Draft]] = []
    for fields in ways(aligned):
        for cut, numbers in ((True, False), (False, False), (False, True)):
            draft = draft_rules(aligned, fields, fixed=fixed, cut=cut, numbers=numbers)
            options.append((cost(aligned, draft) + _EXACT * numbers, len(options), draft))
    judged = []
    for price, order, draft in sorted(options, key=lambda option: option[:2]):
        wrong = judge(draft.rules, tokenised)
        if wrong == 0:
            return Group(tokenised=tuple(tokenised), draft=draft, cost=price)
        if wrong is not None:
            judged.append((price + _WRONG * wrong, order, draft))
    if judged:
        price, _, draft = min(judged, key=lambda option: option[:2])
        return Group(tokenised=tuple(tokenised), draft=draft, cost=price)
    return Group(tokenised=tuple(tokenised), draft=None, cost=_RULE * 3 * len({sample.text for sample in tokenised}))


def ways(aligned: AlignedTexts) -> list[Fields]:
    """Ways to see fields in the form; without an input there is nothing to see."""
    label = aligned.tokenised[0].label
    return list(find_labelled_fields(aligned)) if label is not None and label.means == "input" else [Fields()]


def spread(tokenised: Sequence[TokenisedText]) -> list[TokenisedText]:
    """No more than can be laid upon each other, evenly from all, each label among them."""
    different = list({(sample.text, str(sample.label)): sample for sample in tokenised}.values())
    by_label: dict[str, list[TokenisedText]] = {}
    for sample in different:
        by_label.setdefault(str(sample.label), []).append(sample)
    chosen: list[TokenisedText] = []
    for turn in range(max(map(len, by_label.values()))):
        chosen.extend(texts[turn] for texts in by_label.values() if turn < len(texts))
        if len(chosen) >= _MOST_LAID:
            break
    return chosen


def cost(aligned: AlignedTexts, draft: Draft) -> float:
    """Less is plainer."""
    label = aligned.tokenised[0].label
    means = label.means if label else "ignore"
    first = draft.rules[0]
    text = first.text or ""
    total = draft.oddness + _RULE + _NEXT_RULE * (len(draft.rules) - 1)
    total += _WORD * draft.words + _STAR * text.replace("{*}", "").count("*")
    total += _STATE_WORD * (len(first.active) + len(first.idle)) + _FIXED * (first.state is not None)
    swallowed = _SWALLOWED["fixed" if first.state else means]
    return total + swallowed * draft.eaten + (40.0 if not any(map(str.isalnum, text.replace("*", ""))) else 0.0)
