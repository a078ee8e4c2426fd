"""Texts that tell of several inputs at once ("1:L 2:H 3:L") → one rule that reads each of them, wherever it stands.

A unit is an input, a mark or a space, and a word or a flag. Where units of one form stand twice in a text, with different
inputs and with few different words in all texts, they are a list.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from gateway.facts import input_key
from gateway.rules.folded_text import fold
from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.rules.template import escape_template
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.measured_numbers import find_measured_tokens
from gateway.suggest.samples import Label, Sample
from gateway.suggest.tokens import Token, is_small_number, tokenise

_FLAGS = frozenset("01+-")
_MOST_STATES = 4
_SURE_LISTS = 3
_LINKS = frozenset("-_#°.")
_MOST_MARKS = 3
_JOINTS = frozenset({":", "=", "/", "(", "_"})
"""No "-": behind an input it is a flag, and says a state."""


@dataclass(frozen=True, slots=True)
class Unit:
    """`form`: what stands before and behind the input."""

    form: tuple[str, str]
    which: str
    state: str


def units_of(text: str) -> list[Unit]:
    """Every unit, in order, of every form."""
    tokens = tokenise(text)
    beside = find_measured_tokens(text, tokens)
    return [unit for at in range(len(tokens)) for unit in _units_at(text, tokens, at, beside)]


def _units_at(text: str, tokens: Sequence[Token], at: int, beside: frozenset[int]) -> Iterator[Unit]:
    token = tokens[at]
    if at in beside or not (is_small_number(token) or token.kind == "word"):
        return
    following = at + 1
    while following < len(tokens) and following - at <= _MOST_MARKS and _joining(tokens[following]):
        following += 1
    if following >= len(tokens) or following in beside:
        return
    state = tokens[following]
    joint = text[token.end : state.start]
    if not (state.kind == "word" or state.text in _FLAGS) or not _joins(token, joint):
        return
    front = _front(text, tokens, at, beside)
    if front.strip() and (is_small_number(token) or len(token.text) == 1):
        yield Unit((front, joint), token.text, state.text)
    if not front or front.endswith(" "):
        yield Unit(("", joint), token.text, state.text)


def _front(text: str, tokens: Sequence[Token], at: int, beside: frozenset[int]) -> str:
    """The word before the input, with what joins the two."""
    place = at - 1
    if place > 0 and tokens[place].text in _LINKS and tokens[place].end == tokens[at].start:
        place -= 1
    if place < 0 or place in beside or tokens[place].kind != "word":
        return ""
    gap = text[tokens[place].end : tokens[at].start]
    return text[tokens[place].start : tokens[at].start] if gap in ("", " ", *_LINKS) else ""


def _joining(token: Token) -> bool:
    return token.kind == "punct" and token.text not in _FLAGS


def _joins(token: Token, joint: str) -> bool:
    if joint.strip().replace('"', "").replace("'", "") in _JOINTS:
        return True
    return joint in ("", " ") and (is_small_number(token) or len(token.text) == 1)


def list_rule(texts: Sequence[str]) -> RuleTable | None:
    """The rule for the lists among these texts, all its words in `active`; None where there are none."""
    forms: dict[tuple[str, str], list[list[Unit]]] = defaultdict(list)
    for text in texts:
        mine: dict[tuple[str, str], list[Unit]] = defaultdict(list)
        for unit in units_of(text):
            mine[(unit.form[0].casefold(), unit.form[1])].append(unit)
        for form, units in mine.items():
            forms[form].append(units)
    best = max(forms.values(), key=_weight, default=[])
    lists = [row for row in best if _is_list(row)]
    if not lists or not _tells(lists):
        return None
    words = Counter(fold(unit.state) for row in lists for unit in row)
    shown = {fold(unit.state): unit.state for row in best for unit in row}
    front, joint = lists[0][0].form
    states = tuple(shown[word] for word in words)
    return RuleTable(
        text=f"{escape_template(front)}{{input}}{escape_template(joint)}{{state}}",
        means="input",
        scope="anywhere",
        active=states,
    )


def _tells(lists: Sequence[Sequence[Unit]]) -> bool:
    """Whether the words are states: few, said of several inputs, and not always the same at one place.

    Where words stand for inputs too ("st=LOW"), each state must be said of several of them.
    """
    said: dict[str, set[str]] = defaultdict(set)
    places: dict[int, set[str]] = defaultdict(set)
    for row in lists:
        for place, unit in enumerate(row):
            said[fold(unit.state)].add(input_key(unit.which))
            places[place].add(fold(unit.state))
    if len(said) > _MOST_STATES or len({word in _FLAGS for word in said}) > 1:
        return False
    shared = [word for word, inputs in said.items() if len(inputs) > 1]
    if not lists[0][0].form[0] and any(unit.which.isalpha() and len(unit.which) > 1 for unit in lists[0]):
        return len(said) > 1 and len(shared) == len(said)
    return bool(shared) and (len(lists) < _SURE_LISTS or any(len(words) > 1 for words in places.values()))


def _weight(rows: Sequence[Sequence[Unit]]) -> tuple[int, int]:
    """Units in lists; then how much stands in front."""
    lists = [row for row in rows if _is_list(row)]
    own = not any(fold(row[0].form[0]) == fold(unit.state) for row in lists for unit in row)
    return sum(map(len, lists)), len(rows[0][0].form[0]) if own else -1


def _is_list(row: Sequence[Unit]) -> bool:
    return len(row) > 1 and len({input_key(unit.which) for unit in row}) == len(row)


def labelled_list_rule(samples: Sequence[Sample]) -> RuleTable | None:
    """The rule for labelled lists, its words parted by the labels; None where it contradicts any of them."""
    told = [sample for sample in samples if sample.label is not None and sample.label.means == "input"]
    rule = list_rule([sample.text for sample in told])
    if rule is None:
        return None
    meant: dict[str, set[str]] = defaultdict(set)
    for sample in told:
        for unit in units_of(sample.text):
            fits = sample.label is not None and input_key(unit.which) == sample.label.input
            if fits and fold(unit.state) in {fold(word) for word in rule.active}:
                meant[fold(unit.state)].add((sample.label.state if sample.label else None) or "")
    if any(len(states) > 1 for states in meant.values()):
        return None
    active = tuple(word for word in rule.active if meant.get(fold(word)) == {"active"})
    idle = tuple(word for word in rule.active if meant.get(fold(word)) == {"idle"})
    parted = rule.model_copy(update={"active": active, "idle": idle})
    lists = [sample for sample in told if len(labels_read_by(parted, sample.text)) > 1]
    sound = bool(lists) and all(sample.label in labels_read_by(parted, sample.text) for sample in lists)
    return parted if sound and (active or idle) else None


def labels_read_by(rule: RuleTable, text: str) -> set[Label]:
    """What an "anywhere" rule reads in a text, as labels."""
    return {Label(reading.means, reading.input, reading.state) for reading in _rulebook(rule).read(text).readings}


@lru_cache(maxsize=256)
def _rulebook(rule: RuleTable) -> Rulebook:
    return compile_rulebook([rule])
