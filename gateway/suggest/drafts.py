"""A form and its fields → the template rules that read it.

What is common to all texts stays, the fields stand where their spans are, and whatever lies between becomes `*`.
Punctuation that stands between two stars says nothing and goes into them; so does, where `cut` is asked for, everything
behind the first star after the last field.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import regex

from gateway.rules.template import escape_template
from gateway.settings.models import RuleTable
from gateway.suggest.fields import Fields
from gateway.suggest.forms import Form, Laid, Span, overlaps

_A_NUMBER = regex.compile(r"[\s:=]*[+-]?\d")
_SAID_ENOUGH = 2
"""Words that must stay, for a rule that reads little else."""
_SURE_NUMBER = 3
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


def drafts_of(form: Form, fields: Fields, *, fixed: bool = False, cut: bool = True, numbers: bool = False) -> Draft:
    """One rule or, where names stand for inputs (or `fixed` asks for it), one per input.

    `numbers`: those that are the same in all texts stay, however few the texts are.
    """
    points = _tidied(form.laid, _points(form, fields, numbers))
    label = form.laid[0].label
    if cut and (label is None or label.means == "input"):
        points = _cut(form.laid, points)
    if cut and label is None and not any(point.name for point in points):
        points = _without_figures(form.laid, points)
    rules = tuple(_rule(form, fields, points, texts) for texts in _variants(form, fields, fixed))
    words = sum(point.name == "" and point.text.isalpha() for point in points)
    return Draft(rules=rules, eaten=_eaten(form, points), words=words, oddness=fields.oddness)


def _points(form: Form, fields: Fields, numbers: bool) -> list[Point]:
    found = [
        Point(name, "", _chars(form, span)) for name, span in (("input", fields.input), ("state", fields.state)) if span
    ]
    taken = [point.chars for point in found]
    for column in range(len(form.columns)):
        chars = _chars(form, form.column_span(column))
        if _stays(form, column, numbers) and not any(overlaps(chars, other) for other in taken):
            found.append(Point("", form.token(column).text, chars))
    return sorted(found, key=lambda point: point.chars[0])


def _chars(form: Form, span: Span) -> tuple[tuple[int, int], ...]:
    return tuple(
        (one.tokens[start].start, one.tokens[end - 1].end)
        for one, (start, end) in zip(form.laid, span.places, strict=True)
    )


def _stays(form: Form, column: int, numbers: bool) -> bool:
    token = form.token(column)
    if token.kind in ("word", "punct"):
        return True
    if token.kind != "number" or "." in token.text or "," in token.text:
        return False
    same = len(set(form.column_values(column))) == 1
    return same and (numbers or (len(token.text) <= 4 and len(form.laid) >= _SURE_NUMBER))


def gap(laid: Sequence[Laid], left: Point | None, right: Point | None) -> str:
    """What stands in the template between two points: '', ' ' or a star with its white space."""
    between = [
        one.text[left.chars[at][1] if left else 0 : right.chars[at][0] if right else len(one.text)]
        for at, one in enumerate(laid)
    ]
    if len(set(between)) == 1 and not between[0].strip():
        return between[0]
    inner = [piece for piece in between if piece or (left and right)]
    before = " " if left and all(piece.startswith(" ") for piece in inner) else ""
    after = " " if right and all(piece.endswith(" ") for piece in inner) else ""
    return f"{before}*{after}"


def _tidied(laid: Sequence[Laid], points: list[Point]) -> list[Point]:
    """Without punctuation that stands between two stars."""
    for at, point in enumerate(points):
        if point.name or any(char.isalnum() for char in point.text):
            continue
        left = points[at - 1] if at else None
        right = points[at + 1] if at + 1 < len(points) else None
        if "*" in gap(laid, left, point) and "*" in gap(laid, point, right):
            return _tidied(laid, points[:at] + points[at + 1 :])
    return points


def _cut(laid: Sequence[Laid], points: list[Point]) -> list[Point]:
    last = max((at for at, point in enumerate(points) if point.name), default=None)
    if last is None:
        return points
    for at in range(last, len(points)):
        if "*" in gap(laid, points[at], points[at + 1] if at + 1 < len(points) else None):
            kept = _without_measured(laid, points[last + 1 : at + 1])
            said = any(char.isalnum() for point in kept for char in point.text)
            return points[: (at if said else last) + 1]
    return points


def _without_measured(laid: Sequence[Laid], points: list[Point]) -> list[Point]:
    """Without the name of a number at the end ("BATT" of "BATT 12.6V"): it is read, or not, by a rule of its own."""
    if not points or not all(_number_follows(one, points[-1].chars[at][1]) for at, one in enumerate(laid)):
        return points
    names = [at for at, point in enumerate(points) if any(map(str.isalnum, point.text))]
    return points[: names[-1]] if names else []


def _number_follows(one: Laid, end: int) -> bool:
    return next((token.kind == "number" for token in one.tokens if token.start >= end), False)


def _without_figures(laid: Sequence[Laid], points: list[Point]) -> list[Point]:
    """Without the names of numbers that stand behind something that changes, at the end ("all well * cell *")."""
    kept = len(points)
    while kept > 1 and (
        not any(map(str.isalnum, points[kept - 1].text))
        or ("*" in gap(laid, points[kept - 2], points[kept - 1]) and _numbers_follow(laid, points[kept - 1]))
    ):
        kept -= 1
    said = sum(len(point.text) > 1 and point.text.isalpha() for point in points[:kept])
    return points[:kept] if said >= _SAID_ENOUGH else points


def _numbers_follow(laid: Sequence[Laid], point: Point) -> bool:
    return all(_A_NUMBER.match(one.text, point.chars[at][1]) for at, one in enumerate(laid))


def _variants(form: Form, fields: Fields, fixed: bool) -> list[tuple[str, str] | None]:
    """(input's label, its name in the text) for each rule that fixes the input; None: one rule that reads it."""
    if fields.input is None or not (fields.named or fixed):
        return [None]
    found: dict[tuple[str, str], tuple[str, str]] = {}
    for one, place in zip(form.laid, fields.input.places, strict=True):
        label = (one.label.input if one.label else None) or ""
        found.setdefault((label, one.value(place).casefold()), (label, one.value(place)))
    return list(found.values())


def _rule(form: Form, fields: Fields, points: Sequence[Point], variant: tuple[str, str] | None) -> RuleTable:
    parts = []
    ends: list[Point | None] = [None, *points, None]
    for left, right in pairwise(ends):
        parts.append(gap(form.laid, left, right))
        if right is not None:
            parts.append(_written(right, variant))
    label = form.laid[0].label
    if label is None or label.means != "input":
        return RuleTable(text="".join(parts), means=label.means if label else "ignore")
    active, idle = _vocabulary(form, fields)
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


def _vocabulary(form: Form, fields: Fields) -> tuple[tuple[str, ...], tuple[str, ...]]:
    words: dict[str, dict[str, str]] = {"active": {}, "idle": {}}
    if fields.state is not None:
        for one, place in zip(form.laid, fields.state.places, strict=True):
            state = (one.label.state if one.label else None) or "active"
            words[state].setdefault(one.value(place).casefold(), one.value(place))
    return tuple(words["active"].values()), tuple(words["idle"].values())


def _eaten(form: Form, points: Sequence[Point]) -> float:
    """Words that no point covers; what stands behind the last point counts half."""
    eaten = 0.0
    for at, one in enumerate(form.laid):
        reached = 0
        for point in points:
            start, end = point.chars[at]
            eaten += sum(reached <= word.start and word.end <= start for word in one.words)
            reached = end
        eaten += 0.5 * sum(reached <= word.start for word in one.words)
    return eaten
