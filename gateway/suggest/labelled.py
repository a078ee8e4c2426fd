"""Labelled samples → whole-text rules that read each as it is labelled.

The texts about inputs are tried together first. Where no rule can tell their states apart because a word means one thing
at one input and the opposite at another (a float wired the other way round), the inputs are parted into sets that agree;
the largest set is read by `{input}`, the others by rules of their own.
"""

from collections import Counter
from collections.abc import Sequence

from gateway.settings.models import RuleTable
from gateway.suggest.clusters import cluster, rules_of
from gateway.suggest.drafts import drafts_of
from gateway.suggest.fields import Fields
from gateway.suggest.forms import Laid, form_of
from gateway.suggest.noise import noise_marked
from gateway.suggest.proving import Proof, misread, ordered, pruned
from gateway.suggest.samples import Label, Sample
from gateway.suggest.tokens import input_places, tokens_of, with_input

_OWN = Proof(()).judge
"""Looks at nothing but the texts themselves."""


def labelled_rules(samples: Sequence[Sample]) -> list[RuleTable]:
    """In the order they are to be tried; samples must not contradict each other."""
    proof = Proof(tuple((sample.text, sample.label) for sample in samples if sample.label is not None))
    rules: list[RuleTable] = []
    everything = noise_marked(_laid([sample for sample in samples if sample.label is not None]))
    for means in ("input", "power-lost", "power-back", "alive", "reading", "ignore"):
        laid = [one for one in everything if one.label is not None and one.label.means == means]
        if laid:
            rules.extend(_input_rules(laid, proof) if means == "input" else rules_of(cluster(laid, proof.judge)))
    rules = ordered(rules, proof)
    wrong = proof.wrong(rules)
    if wrong:
        rules = ordered([*rules, *(_literally(text, label) for text, label in wrong)], proof)
    return pruned(rules, proof)


def contradictions(samples: Sequence[Sample]) -> tuple[list[Sample], list[str]]:
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
        for token in tokens_of(text)
    )


def _laid(samples: Sequence[Sample]) -> list[Laid]:
    wanted = [(sample.text, (sample.label.input if sample.label else None) or "") for sample in samples]
    told = [place for place, sample in enumerate(samples) if sample.label and sample.label.input]
    found = dict(zip(told, input_places([wanted[place] for place in told]), strict=True))
    places = [found.get(place) for place in range(len(samples))]
    return [
        Laid(sample.text, with_input(sample.text, place), sample.label)
        for sample, place in zip(samples, places, strict=True)
    ]


def _input_rules(laid: Sequence[Laid], proof: Proof) -> list[RuleTable]:
    rules = rules_of(cluster(laid, proof.judge))
    missed = misread(rules, laid)
    if not missed:
        return rules
    sets = _agreeing(laid)
    parted = []
    for at, some in enumerate(sets):
        parted.extend(rules_of(cluster(some, _OWN if at == 0 else proof.judge, fixed=at > 0)))
    return parted if misread(parted, laid) < missed else rules


def _agreeing(laid: Sequence[Laid]) -> list[list[Laid]]:
    """Sets of texts, by input, within which a state word always means the same; the largest first."""
    by_input: dict[str, list[Laid]] = {}
    for one in laid:
        by_input.setdefault((one.label.input if one.label else None) or "", []).append(one)
    sets: list[list[Laid]] = []
    for texts in sorted(by_input.values(), key=len, reverse=True):
        for some in sets:
            both = [*some, *texts]
            if not misread(rules_of(cluster(both, _OWN)), both):
                some.extend(texts)
                break
        else:
            sets.append(list(texts))
    return sorted(sets, key=len, reverse=True)


def _literally(text: str, label: Label) -> RuleTable:
    """The text as it stands, with `*` for times and numbers: the last resort."""
    form = form_of([Laid(text, tokens_of(text), label)])
    return drafts_of(form, Fields(), cut=False).rules[0]
