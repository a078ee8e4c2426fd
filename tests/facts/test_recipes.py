"""The two recipes for one more piece of knowledge, followed to the letter in a copy of the program that is then run for real."""

from pathlib import Path

from gateway.phrases import languages
from tests.facts.recipe_tree import Tree


def test_one_more_number_field(tmp_path: Path) -> None:
    """`{pressure}`, in bar: its name and its entry, and it is read, explained, stored, shown and guessed."""
    tree = Tree(tmp_path)
    tree.insert("facts/number_fields.py", '"signal"]', '"pressure", ')
    tree.insert(
        "facts/number_fields.py",
        ")\nNUMBER_FIELDS",
        """    NumberField(
        name="pressure",
        unit="bar",
        label="pressure",
        expected="a number of bar",
        overview=True,
        units=("bar",),
        names=("press", "pressure"),
    ),
""",
    )
    tree.python("-m", "tests.facts.try_pressure", str(tmp_path))


def test_one_more_kind_of_event(tmp_path: Path) -> None:
    """`pump-stopped`: its name, its entry and a phrase in each language, and it is told to whom it concerns, and shown."""
    tree = Tree(tmp_path)
    tree.insert("facts/event_kind.py", '    "supply-weaker",\n', '    "pump-stopped",\n')
    tree.insert(
        "facts/kinds.py",
        '    Kind(name="supply-weaker"',
        '    Kind(name="pump-stopped", subject="controllers", page="{where}: its pump stopped"),\n',
    )
    for language in languages():
        tree.append(f"phrases/{language}.toml", '\n[said.pump-stopped]\nhead = "{controller}: pump stopped {since}."\n')
    tree.python("-m", "tests.facts.try_pump_stopped", str(tmp_path))
