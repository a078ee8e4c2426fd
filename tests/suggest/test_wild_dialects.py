"""Wilder invented dialects, labelled and bare → what is read of the texts that were held out, family by family."""

from collections import defaultdict

from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.settings.load import load_text
from gateway.suggest.samples import Label
from gateway.suggest.suggest_rules import suggest_rules
from tests.suggest.dialects import Case, Dialect
from tests.suggest.wild import later_families, wild

SEEDS = range(5000, 5036)
"""One box of each family; none of them was looked at while the code was written (those below 400 were)."""
HEAD = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
[modem]
device = "simulated"
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
"""


def spaced(text: str) -> str:
    """As a line of a file."""
    return " ".join(text.split())


def verdict(book: Rulebook, case: Case) -> str:
    """'right', 'wrong' or 'unread'."""
    label, text = case
    said = {
        str(Label(reading.means, reading.input, reading.state))
        for reading in book.read(text).readings
        if reading.means != "reading"
    }
    if label.casefold() in {word.casefold() for word in said}:
        return "right"
    return "wrong" if said else "unread"


def share(books: dict[Dialect, tuple[str, Rulebook]], wanted: str) -> float:
    """Share of held-out texts with this verdict; prints the families that are not all right."""
    table: dict[str, list[str]] = defaultdict(list)
    for box, (family, book) in books.items():
        table[family].extend(verdict(book, case) for case in box.held)
    for family, row in sorted(table.items()):
        if row.count("right") < len(row):
            print(family, {name: row.count(name) for name in ("right", "wrong", "unread")})
    everything = [cell for row in table.values() for cell in row]
    return everything.count(wanted) / len(everything)


def test_labelled_boxes_pasted_into_a_configuration() -> None:
    """The proposal, pasted beneath a controller, passes `check` without a note of its own, reads every sample back, and
    reads the texts held out (of 360 boxes of seeds 0 to 359, 99.8 % and none wrongly)."""
    books = {}
    for seed in SEEDS:
        family, box = wild(seed)
        suggestion = suggest_rules([f"{label}\t{spaced(text)}" for label, text in box.train])
        loaded = load_text(HEAD + suggestion.toml, "pasted.toml", EXTRA_CHECKS)
        assert [warning.wrong for warning in loaded.warnings if ".rules" in warning.key] == [], box.about
        book = compile_rulebook(loaded.settings.controllers[0].rules)
        assert [case for case in box.train if verdict(book, case) != "right"] == [], box.about
        unheard = book.read("LID OPEN 12.6 V BAT 87% CSQ 14")
        assert unheard.rule is None or family.startswith(("terse", "list")), box.about
        books[box] = (family, book)
    assert share(books, "right") > 0.98
    assert share(books, "wrong") < 0.005


def test_families_written_afterwards() -> None:
    """Families that were written after the code and not looked at before: 98.2 % of 4321 texts and none wrongly."""
    books = {}
    for seed in range(6000, 6024):
        family, box = wild(seed, made_of=later_families)
        suggestion = suggest_rules([f"{label}\t{spaced(text)}" for label, text in box.train])
        books[box] = (family, compile_rulebook([rule.rule for rule in suggestion.rules]))
    assert share(books, "right") > 0.95
    assert share(books, "wrong") < 0.005


def test_bare_boxes_once_a_person_has_said_what_each_group_means() -> None:
    """Each group is asked about once, by its example; none mixes meanings, so that one answer is true of all of it (of 360 boxes of seeds
    0 to 359, 6 of 2,422 groups did, all of lists). With the answers given back in the form, held-out texts are read: 97.0 %, none wrongly."""
    books = {}
    for seed in SEEDS:
        family, box = wild(seed)
        truth = {spaced(text): label for label, text in box.train}
        asked = suggest_rules(list(truth))
        assert asked.rules == () or all(suggested.rule.means == "reading" for suggested in asked.rules), box.about
        meant = {group.example: {_meant(truth, text) for text in group.texts} for group in asked.groups}
        assert [labels for labels in meant.values() if len(labels) > 1] == [], box.about
        filled = [_labelled(line, truth) for line in asked.form.splitlines()]
        suggestion = suggest_rules(filled)
        assert suggestion.groups == (), box.about
        books[box] = (family, compile_rulebook([suggested.rule for suggested in suggestion.rules]))
    assert share(books, "right") > 0.9
    assert share(books, "wrong") < 0.005


def _labelled(line: str, truth: dict[str, str]) -> str:
    """As a person fills the form in."""
    mark, tab, text = line.partition("\t")
    return f"{_meant(truth, text)}\t{text}" if mark == "?" and tab else line


def _meant(truth: dict[str, str], text: str) -> str:
    """Also where what stood in front was taken off."""
    return truth[text] if text in truth else next(label for whole, label in truth.items() if whole.endswith(text))
