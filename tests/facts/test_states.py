"""The fields of each version of each state, held fast: whoever changes them counts the version up and says how the old ones are read."""

import re
from pathlib import Path
from typing import get_type_hints

from gateway.facts.states import controllers_and_tanks, errands_and_tests, gateway_itself, people
from gateway.facts.states.declared import STATES, State

MODULE = re.compile(r"gateway\.facts\.states\.\w+\.")
KINDS = tuple(
    kind
    for room in (controllers_and_tanks, errands_and_tests, gateway_itself, people)
    for kind in vars(room).values()
    if isinstance(kind, type) and issubclass(kind, State) and kind is not State
)
FILE = Path(__file__).with_name("states.txt")


def fields_of(kind):
    """A line: name, version, and each field with its type."""
    hints = get_type_hints(kind)
    said = ", ".join(f"{name}: {_type(hints[name])}" for name in kind.__dataclass_fields__)
    return f"{STATES[kind].name} {STATES[kind].version}: {said}"


def _type(hint):
    """As it is written, with the fields of what is nested."""
    return MODULE.sub("", str(hint).replace("typing.", "").replace("datetime.", ""))


def test_the_fields_of_a_version_do_not_change():
    """A new version is a new line in `states.txt`; a line that stands there stays."""
    held = FILE.read_text("utf-8").splitlines()
    missing = [line for kind in KINDS if (line := fields_of(kind)) not in held]
    assert not missing, "these need a new version (and `upgrade`), and then a line in tests/facts/states.txt"


def test_a_version_that_is_not_the_first_knows_how_to_read_the_older_ones():
    """Else the first start of a new program would refuse what the old one wrote."""
    assert all(entry.upgrade is not None for entry in STATES.values() if entry.version > 1)


def test_no_two_kinds_have_one_name():
    """A row would be read as the other's; and every class that is a state is declared."""
    names = [STATES[kind].name for kind in KINDS]
    assert len(names) == len(set(names)) > 20 and set(KINDS) == set(STATES)
