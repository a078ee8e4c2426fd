"""Labelled samples → whole-text rules that read each as it is labelled.

The texts about inputs are tried together first. Where no rule can tell their states apart because a word means one thing
at one input and the opposite at another (a float wired the other way round), the inputs are parted into sets that agree;
the largest set is read by `{input}`, the others by rules of their own.

A word between the same two neighbours that comes with several inputs and with both states, where other such words stand as well, is
noise like a time or a counter (who took the alarm, which mast it went over), also in a text of a kind in which it was seen but once.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile

from gateway.settings.controller_tables import RuleTable
from gateway.suggest.aligned_texts import TokenisedText, align_texts
from gateway.suggest.labelled_fields import Fields
from gateway.suggest.labelled_groups import group_texts, rules_of
from gateway.suggest.proof import Proof, count_misread, order_rules, prune_rules
from gateway.suggest.rules_of_one_form import SURE_NUMBER, draft_rules
from gateway.suggest.samples import Label, Sample
from gateway.suggest.tokens import Token, find_input_places, tokenise, tokenise_with_input

_OWN = Proof(()).judge
"""Looks at nothing but the texts themselves."""


def labelled_rules(samples: Sequence[Sample]) -> list[RuleTable]:
    """In the order they are to be tried; samples must not contradict each other."""
    proof = Proof(tuple((sample.text, sample.label) for sample in samples if sample.label is not None))
    rules: list[RuleTable] = []
    tokenised_all = _tokenise_samples([sample for sample in samples if sample.label is not None])
    everything = mark_noise_words(mark_common_opening(tokenised_all))
    for means in ("input", "power-lost", "power-back", "alive", "reading", "ignore"):
        tokenised = [sample for sample in everything if sample.label is not None and sample.label.means == means]
        if tokenised:
            rules.extend(
                _input_rules(tokenised, proof) if means == "input" else rules_of(group_texts(tokenised, proof.judge))
            )
    rules = order_rules(rules, proof)
    wrong = proof.wrong(rules)
    if wrong:
        rules = order_rules([*rules, *(word_for_word(text, label) for text, label in wrong)], proof)
    return prune_rules(rules, proof)


def set_contradictions_aside(samples: Sequence[Sample]) -> tuple[list[Sample], list[str]]:
    """Samples that can stand together, and a sentence for each text that is labelled in two ways.

    Texts that differ only in times and numbers with a point count as one text; the label most of them have is believed.
    """
    cases: dict[tuple[str, ...], list[Sample]] = {}
    for sample in samples:
        cases.setdefault(_key(sample.text), []).append(sample)
    kept, said = [], []
    for sample in samples:
        same = cases[_key(sample.text)]
        labels = Counter(other.label for other in same if other.label)
        best = labels.most_common(2)
        if len(best) < 2 or sample.label is None or (best[0][1] > best[1][1] and sample.label == best[0][0]):
            kept.append(sample)
        else:
            others = " and ".join(str(label) for label in labels if label != sample.label)
            said.append(f"'{sample.text}' is labelled {sample.label}, but the like of it is labelled {others}")
    return kept, said


def _key(text: str) -> tuple[str, ...]:
    return tuple(
        token.symbol if token.kind in ("word", "punct", "time", "date") or "." in token.text else token.text
        for token in tokenise(text)
    )


def _tokenise_samples(samples: Sequence[Sample]) -> list[TokenisedText]:
    wanted = [(sample.text, (sample.label.input if sample.label else None) or "") for sample in samples]
    told = [place for place, sample in enumerate(samples) if sample.label and sample.label.input]
    found = dict(zip(told, find_input_places([wanted[place] for place in told]), strict=True))
    places = [found.get(place) for place in range(len(samples))]
    return [
        TokenisedText(sample.text, tokenise_with_input(sample.text, place), sample.label)
        for sample, place in zip(samples, places, strict=True)
    ]


def _input_rules(tokenised: Sequence[TokenisedText], proof: Proof) -> list[RuleTable]:
    rules = rules_of(group_texts(tokenised, proof.judge))
    missed = count_misread(rules, tokenised)
    if not missed:
        return rules
    sets = _agreeing(tokenised)
    parted = []
    for at, some in enumerate(sets):
        parted.extend(rules_of(group_texts(some, _OWN if at == 0 else proof.judge, fixed=at > 0)))
    return parted if count_misread(parted, tokenised) < missed else rules


def _agreeing(tokenised: Sequence[TokenisedText]) -> list[list[TokenisedText]]:
    """Sets of texts, by input, within which a state word always means the same; the largest first."""
    by_input: dict[str, list[TokenisedText]] = {}
    for sample in tokenised:
        by_input.setdefault((sample.label.input if sample.label else None) or "", []).append(sample)
    sets: list[list[TokenisedText]] = []
    for texts in sorted(by_input.values(), key=len, reverse=True):
        for some in sets:
            both = [*some, *texts]
            if not count_misread(rules_of(group_texts(both, _OWN)), both):
                some.extend(texts)
                break
        else:
            sets.append(list(texts))
    return sorted(sets, key=len, reverse=True)


def word_for_word(text: str, label: Label) -> RuleTable:
    """The text as it stands, with `*` for times and numbers: the last resort."""
    aligned = align_texts([TokenisedText(text, tokenise(text), label)])
    return draft_rules(aligned, Fields(), cut=False).rules[0]


def mark_common_opening(tokenised: Sequence[TokenisedText]) -> list[TokenisedText]:
    """A short number in what all texts begin with ("B7,") is the box's own name: it becomes a word, and no star stands for it."""
    if len({sample.text for sample in tokenised}) < SURE_NUMBER:
        return list(tokenised)
    columns = zip(*(sample.tokens for sample in tokenised), strict=False)
    common = list(takewhile(lambda column: len({token.text.casefold() for token in column}) == 1, columns))
    own = {at for at, column in enumerate(common) if column[0].kind == "number" and len(column[0].text) <= _NAME_DIGITS}
    return [
        replace(
            sample,
            tokens=tuple(
                replace(token, kind="word", symbol=token.text) if at in own else token
                for at, token in enumerate(sample.tokens)
            ),
        )
        for sample in tokenised
    ]


Place = tuple[str, str]
_NAME_DIGITS = 4
_NOISY_WORDS = 2
_DIFFERENT_WORDS = 3


def mark_noise_words(tokenised: Sequence[TokenisedText]) -> list[TokenisedText]:
    """Noise words become identifiers, aligned by kind."""
    noisy = _noisy_places(tokenised)
    if not noisy:
        return list(tokenised)
    return [replace(sample, tokens=_marked(sample.tokens, noisy)) for sample in tokenised]


def _marked(tokens: Sequence[Token], noisy: set[Place]) -> tuple[Token, ...]:
    return tuple(
        replace(token, kind="id", symbol="<id>") if token.kind == "word" and _place(tokens, at) in noisy else token
        for at, token in enumerate(tokens)
    )


def _noisy_places(tokenised: Sequence[TokenisedText]) -> set[Place]:
    repeated: set[Place] = set()
    labels: dict[Place, dict[str, set[tuple[str, str]]]] = defaultdict(lambda: defaultdict(set))
    for sample in tokenised:
        label = sample.label
        if label is not None:
            sides = (label.input or label.means, label.state or label.means)
            for at, token in enumerate(sample.tokens):
                if token.kind == "word":
                    labels[_place(sample.tokens, at)][token.symbol].add(sides)
        repeated.update(_twice(sample.tokens))
    return {place for place, words in labels.items() if place not in repeated and _says_nothing(words)}


def _twice(tokens: Sequence[Token]) -> set[Place]:
    """Places that one text has twice ('"' and '"' around every word of a keyed text): they tell nothing apart."""
    places = Counter(_place(tokens, at) for at, token in enumerate(tokens) if token.kind == "word")
    return {place for place, many in places.items() if many > 1}


def _says_nothing(words: dict[str, set[tuple[str, str]]]) -> bool:
    noisy = [word for word, seen in words.items() if len({a for a, _ in seen}) > 1 and len({b for _, b in seen}) > 1]
    return len(words) >= _DIFFERENT_WORDS and len(noisy) >= _NOISY_WORDS


def _place(tokens: Sequence[Token], at: int) -> Place:
    left = tokens[at - 1].symbol if at else "^"
    right = tokens[at + 1].symbol if at + 1 < len(tokens) else "$"
    return left, right
