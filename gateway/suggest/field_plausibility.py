"""A span of a form → how little it looks like an input or a state.

Few different values speak for a span, made of words, each seen more than once, with both kinds of label where it should
be; what speaks against it is noise in it, words that all texts have in common, and a value that ends like its opposite.
"""

from gateway.facts.number_fields import NUMBER_FIELDS, OTHER_UNITS
from gateway.suggest.aligned_texts import AlignedTexts, Span

_MOST_NUMBERS = 8
"""Different numbers a field may take; more are a measurement or a counter."""
_MANY_TEXTS = 6
"""With so many texts, a value that is seen but once looks like noise."""
_UNIT_WORDS = OTHER_UNITS | {"°"} | {unit for entry in NUMBER_FIELDS.values() for unit in entry.units}
_MARKS = frozenset("+-")
_LONG_PHRASE = 3
"""Words; a state or a name is rarely longer."""
_ODD = 15.0


def can_be_field(aligned: AlignedTexts, span: Span, wanted: str) -> bool:
    """Times, dates, identifiers and measured numbers are neither input nor state; nor is a number beside a word."""
    tokens = list(span.tokens(aligned.tokenised))
    if any(token.kind == "number" for token in tokens) and any(end - start > 1 for start, end in span.places):
        return False
    if any(token.kind in ("time", "date", "id", "input") for token in tokens):
        return False
    if any(
        token.kind == "number" and (not token.text.isdecimal() or (wanted == "state" and len(token.text) > 1))
        for token in tokens
    ):
        return False
    return _of_one_kind(aligned, span) and not _cuts_a_number(aligned, span)


def _of_one_kind(aligned: AlignedTexts, span: Span) -> bool:
    """All of its values hold words, or all are small numbers, or all are one mark."""
    kinds: set[str] = set()
    numbers: set[str] = set()
    for sample, (start, end) in zip(aligned.tokenised, span.places, strict=True):
        tokens = sample.tokens[start:end]
        worded = any(token.kind == "word" for token in tokens)
        kinds.add("word" if worded else tokens[0].kind)
        numbers.update(token.text for token in tokens if token.kind == "number")
    if kinds == {"punct"}:
        return set("".join(span.values(aligned.tokenised))) <= _MARKS
    return len(kinds) == 1 and len(numbers) <= _MOST_NUMBERS and all(len(number) < 3 for number in numbers)


def name_oddness(aligned: AlignedTexts, span: Span) -> float:
    """A number that is not the labelled one is no name, unless it keeps coming with the same label."""
    values = span.values(aligned.tokenised)
    alone = sum(values.count(value) < 2 for value in set(values))
    return _ODD if alone and any(value.isdecimal() for value in values) else 0.0


def span_oddness(aligned: AlignedTexts, span: Span, marked: Span | None) -> float:
    """Less is better."""
    texts = len(aligned.tokenised)
    tokens = list(span.tokens(aligned.tokenised))
    numbers = sum(token.kind == "number" for token in tokens) / texts
    punct = sum(token.kind == "punct" for token in tokens) / texts
    words = sum(token.kind == "word" for token in tokens) / texts
    odd = (
        len(set(span.values(aligned.tokenised)))
        + (0.5 if _between_words(aligned, span) else 3.5 if words else 1.2) * punct
        + 0.1 * words
    )
    odd += 0.0 if set(span.values(aligned.tokenised)) == {"0", "1"} else 1.5 * numbers
    odd += 0.8 * max(0.0, words - _LONG_PHRASE)
    odd += 2.0 * _shared_words(aligned, span)
    odd += 1.5 * _swallowed(aligned, span) + 2.5 * _astray(aligned, span)
    if texts >= _MANY_TEXTS:
        values = span.values(aligned.tokenised)
        odd += 1.5 * sum(values.count(value) == 1 for value in set(values))
    return odd + (0.2 * _distance(aligned, span, marked) if marked is not None else 0.0)


def _between_words(aligned: AlignedTexts, span: Span) -> bool:
    """Whether its punctuation stands between words only."""
    return all(
        sample.tokens[start].kind == "word" and sample.tokens[end - 1].kind == "word"
        for sample, (start, end) in zip(aligned.tokenised, span.places, strict=True)
    )


def _shared_words(aligned: AlignedTexts, span: Span) -> int:
    """Words inside the span that come with both states without being common to all texts."""
    common = {aligned.token(column).symbol for column in range(len(aligned.columns))}
    seen: dict[str, set[str | None]] = {}
    for sample, (start, end) in zip(aligned.tokenised, span.places, strict=True):
        for token in sample.tokens[start:end]:
            seen.setdefault(token.symbol, set()).add(sample.label.state if sample.label else None)
    return sum(len(states) > 1 and symbol not in common for symbol, states in seen.items())


def state_oddness(aligned: AlignedTexts, span: Span) -> float:
    """A state comes with several inputs, and its words do not end or begin what says the opposite."""
    said: dict[str | None, set[str]] = {}
    for sample, value in zip(aligned.tokenised, span.values(aligned.tokenised), strict=True):
        said.setdefault(sample.label.state if sample.label else None, set()).add(value)
    pairs = [(a, b) for a in said.get("active", ()) for b in said.get("idle", ())]
    ends = sum(len(a) != len(b) and (a.endswith(b) or b.endswith(a)) for a, b in pairs)
    begins = sum(len(a) != len(b) and (a.startswith(b) or b.startswith(a)) for a, b in pairs)
    return 1.2 * _of_one_input(aligned, span) + 3.0 * min(ends, 1) + 0.5 * min(begins, 1)


def _of_one_input(aligned: AlignedTexts, span: Span) -> int:
    """Values that come with one input only, where there are several: a state comes with more than one."""
    seen: dict[str, set[str | None]] = {}
    for sample, value in zip(aligned.tokenised, span.values(aligned.tokenised), strict=True):
        seen.setdefault(value, set()).add(sample.label.input if sample.label else None)
    if len(aligned.tokenised) < 4 or len({which for inputs in seen.values() for which in inputs}) < 2:
        return 0
    return sum(len(inputs) < 2 for inputs in seen.values())


def _astray(aligned: AlignedTexts, span: Span) -> int:
    """Common tokens inside the span that neither begin nor end it in every text."""
    lost = 0
    joined = _between_words(aligned, span)
    for column in range(len(aligned.columns)):
        inside = [start <= at < end for at, (start, end) in zip(aligned.columns[column], span.places, strict=True)]
        if all(inside) and len(aligned.columns[column]) > 1 and not (joined and aligned.token(column).kind == "punct"):
            first = {at == start for at, (start, _) in zip(aligned.columns[column], span.places, strict=True)}
            last = {at + 1 == end for at, (_, end) in zip(aligned.columns[column], span.places, strict=True)}
            lost += first != {True} and last != {True}
    return lost


def _swallowed(aligned: AlignedTexts, span: Span) -> int:
    """Common tokens inside the span: they decide nothing (a mark that joins two words is a part of them)."""
    joined = _between_words(aligned, span)
    return sum(
        all(start <= at < end for at, (start, end) in zip(aligned.columns[column], span.places, strict=True))
        for column in range(len(aligned.columns))
        if len(set(aligned.column_values(column))) == 1 and not (joined and aligned.token(column).kind == "punct")
    )


def _cuts_a_number(aligned: AlignedTexts, span: Span) -> bool:
    """Whether it is, or begins with, the unit of a number, or its last number has one: that is measured."""
    for sample, (start, end) in zip(aligned.tokenised, span.places, strict=True):
        before = sample.tokens[start - 1] if start else None
        if (
            before
            and before.kind == "number"
            and (sample.tokens[start].symbol in _UNIT_WORDS or not before.text.isdecimal())
        ):
            return True
        if sample.tokens[end - 1].kind == "number" and end < len(sample.tokens):
            after = sample.tokens[end]
            if after.start == sample.tokens[end - 1].end and (after.text in "%°" or after.kind == "word"):
                return True
    return False


def _distance(aligned: AlignedTexts, span: Span, marked: Span) -> float:
    total = 0
    for (start, end), (a, b) in zip(span.places, marked.places, strict=True):
        total += start - b if start >= b else (a - end) + 1
    return total / len(aligned.tokenised)
