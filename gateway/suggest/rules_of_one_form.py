"""A form and its fields → the template rules that read it.

What is common to all texts stays, the fields stand where their spans are, and whatever lies between becomes `*`.
Punctuation that stands between two stars says nothing and goes into them; so does, where `cut` is asked for, everything
behind the first star after the last field.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from gateway.rules.template import escape_template
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.aligned_texts import AlignedTexts, Span, TokenisedText, overlaps
from gateway.suggest.labelled_fields import Fields
from gateway.suggest.tokens import Token
from gateway.suggest.trouble_words import QUIET, words_of_trouble

_COUNT_DIGITS = 3
SURE_NUMBER = 3
"""A number that is the same in so many different texts is taken for a constant."""


@dataclass(frozen=True, slots=True)
class Point:
    """Something that stays: a common token or a field (`name` 'input' or 'state'), with its characters in each text."""

    name: str
    text: str
    chars: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Rules of one form.

    `eaten`: words that stars swallow, over all texts; `words`: words that stay; `oddness`: of its fields.
    """

    rules: tuple[RuleTable, ...]
    eaten: float
    words: int
    oddness: float = 0.0


def draft_rules(
    aligned: AlignedTexts, fields: Fields, *, fixed: bool = False, cut: bool = True, numbers: bool = False
) -> Draft:
    """One rule or, where names stand for inputs (or `fixed` asks for it), one per input.

    `numbers`: those that are the same in all texts stay, however few the texts are.
    """
    points = _tidied(aligned.tokenised, _points(aligned, fields, numbers))
    label = aligned.tokenised[0].label
    if cut and label is not None and label.means == "input":
        points = _cut(aligned.tokenised, points)
    rules = tuple(_rule(aligned, fields, points, texts) for texts in _variants(aligned, fields, fixed))
    words = sum(point.name == "" and point.text.isalpha() for point in points)
    return Draft(rules=rules, eaten=_eaten(aligned, points), words=words, oddness=fields.oddness)


def _points(aligned: AlignedTexts, fields: Fields, numbers: bool) -> list[Point]:
    found = [
        Point(name, "", _chars(aligned, span))
        for name, span in (("input", fields.input), ("state", fields.state))
        if span
    ]
    taken = [point.chars for point in found]
    for column in range(len(aligned.columns)):
        chars = _chars(aligned, aligned.column_span(column))
        if _stays(aligned, column, numbers) and not any(overlaps(chars, other) for other in taken):
            found.append(Point("", aligned.token(column).text, chars))
    return sorted(found, key=lambda point: point.chars[0])


def _neighbour(tokens: Iterable[Token]) -> Token | None:
    """The next that is no punctuation, unless something ends between."""
    for token in tokens:
        if token.kind != "punct":
            return token
        if token.text in ",;.|/":
            return None
    return None


def _chars(aligned: AlignedTexts, span: Span) -> tuple[tuple[int, int], ...]:
    return tuple(
        (sample.tokens[start].start, sample.tokens[end - 1].end)
        for sample, (start, end) in zip(aligned.tokenised, span.places, strict=True)
    )


def _stays(aligned: AlignedTexts, column: int, numbers: bool) -> bool:
    token = aligned.token(column)
    if token.kind in ("word", "punct"):
        return True
    if token.kind != "number" or "." in token.text or "," in token.text:
        return False
    if len(set(aligned.column_values(column))) != 1:
        return False
    if _counts_trouble(aligned.tokenised[0], aligned.columns[column][0]):
        return True
    return numbers or (len(token.text) <= 4 and len(aligned.tokenised) >= SURE_NUMBER)


def _counts_trouble(sample: TokenisedText, at: int) -> bool:
    """Whether a quiet text tells with this number how much trouble there is ("low 0", "0 faults"): another one is no quiet text."""
    if sample.label is None or sample.label.means not in QUIET or len(sample.tokens[at].text) > _COUNT_DIGITS:
        return False
    before, after = _neighbour(reversed(sample.tokens[:at])), _neighbour(sample.tokens[at + 1 :])
    return any(token is not None and words_of_trouble(token.text) for token in (before, after))


def gap(tokenised: Sequence[TokenisedText], left: Point | None, right: Point | None) -> str:
    """What stands in the template between two points: '', ' ' or a star with its white space."""
    between = [
        sample.text[left.chars[at][1] if left else 0 : right.chars[at][0] if right else len(sample.text)]
        for at, sample in enumerate(tokenised)
    ]
    if len(set(between)) == 1 and not between[0].strip():
        return between[0]
    inner = [piece for piece in between if piece or (left and right)]
    before = " " if left and all(piece.startswith(" ") for piece in inner) else ""
    after = " " if right and all(piece.endswith(" ") for piece in inner) else ""
    return f"{before}*{after}"


def _tidied(tokenised: Sequence[TokenisedText], points: list[Point]) -> list[Point]:
    """Without punctuation that stands between two stars."""
    for at, point in enumerate(points):
        if point.name or any(char.isalnum() for char in point.text):
            continue
        left = points[at - 1] if at else None
        right = points[at + 1] if at + 1 < len(points) else None
        if "*" in gap(tokenised, left, point) and "*" in gap(tokenised, point, right):
            return _tidied(tokenised, points[:at] + points[at + 1 :])
    return points


def _cut(tokenised: Sequence[TokenisedText], points: list[Point]) -> list[Point]:
    last = max((at for at, point in enumerate(points) if point.name), default=None)
    if last is None:
        return points
    for at in range(last, len(points)):
        if "*" in gap(tokenised, points[at], points[at + 1] if at + 1 < len(points) else None):
            kept = _without_measured(tokenised, points[last + 1 : at + 1])
            said = any(char.isalnum() for point in kept for char in point.text)
            return points[: (at if said else last) + 1]
    return points


def _without_measured(tokenised: Sequence[TokenisedText], points: list[Point]) -> list[Point]:
    """Without the name of a number at the end ("BATT" of "BATT 12.6V"): it is read, or not, by a rule of its own."""
    if not points or not all(_number_follows(sample, points[-1].chars[at][1]) for at, sample in enumerate(tokenised)):
        return points
    names = [at for at, point in enumerate(points) if any(map(str.isalnum, point.text))]
    return points[: names[-1]] if names else []


def _number_follows(sample: TokenisedText, end: int) -> bool:
    return next((token.kind == "number" for token in sample.tokens if token.start >= end), False)


def _variants(aligned: AlignedTexts, fields: Fields, fixed: bool) -> list[tuple[str, str] | None]:
    """(input's label, its name in the text) for each rule that fixes the input; None: one rule that reads it."""
    if fields.input is None or not (fields.named or fixed):
        return [None]
    found: dict[tuple[str, str], tuple[str, str]] = {}
    for sample, place in zip(aligned.tokenised, fields.input.places, strict=True):
        label = (sample.label.input if sample.label else None) or ""
        found.setdefault((label, sample.value(place).casefold()), (label, sample.value(place)))
    return list(found.values())


def _rule(aligned: AlignedTexts, fields: Fields, points: Sequence[Point], variant: tuple[str, str] | None) -> RuleTable:
    parts = []
    ends: list[Point | None] = [None, *points, None]
    for left, right in pairwise(ends):
        parts.append(gap(aligned.tokenised, left, right))
        if right is not None:
            parts.append(_written(right, variant))
    label = aligned.tokenised[0].label
    if label is None or label.means != "input":
        return RuleTable(text="".join(parts), means=label.means if label else "ignore")
    active, idle = _vocabulary(aligned, fields)
    given = variant[0] if variant else (label.input if fields.input is None else None)
    return RuleTable(
        text="".join(parts),
        means="input",
        active=active,
        idle=idle,
        input=int(given) if given and given.isdecimal() else given,
        state=label.state if fields.state is None else None,
    )


def _written(point: Point, variant: tuple[str, str] | None) -> str:
    if point.name == "input" and variant:
        return escape_template(variant[1])
    return f"{{{point.name}}}" if point.name else escape_template(point.text)


def _vocabulary(aligned: AlignedTexts, fields: Fields) -> tuple[tuple[str, ...], tuple[str, ...]]:
    words: dict[str, dict[str, str]] = {"active": {}, "idle": {}}
    if fields.state is not None:
        for sample, place in zip(aligned.tokenised, fields.state.places, strict=True):
            state = (sample.label.state if sample.label else None) or "active"
            words[state].setdefault(sample.value(place).casefold(), sample.value(place))
    return tuple(words["active"].values()), tuple(words["idle"].values())


def _eaten(aligned: AlignedTexts, points: Sequence[Point]) -> float:
    """Words that no point covers; what stands behind the last point counts half."""
    eaten = 0.0
    for at, sample in enumerate(aligned.tokenised):
        reached = 0
        for point in points:
            start, end = point.chars[at]
            eaten += sum(reached <= word.start and word.end <= start for word in sample.words)
            reached = end
        eaten += 0.5 * sum(reached <= word.start for word in sample.words)
    return eaten
