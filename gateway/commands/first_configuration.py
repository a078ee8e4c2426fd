"""What somebody answered about their place → a first configuration: whole, commented, in the order of the reference."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from gateway.phone_numbers import to_national


@dataclass(slots=True, kw_only=True)
class FirstTank:
    """`shape`: the table's values, None where nobody knows; `low_input`, `high_input`, `gauge`: as the box's texts name them; `reads`: what
    the gauge's number is."""

    name: str
    shape: dict[str, Any] | None = None
    fed_by: str = ""
    low_input: str = ""
    high_input: str = ""
    low_m: float | None = None
    high_m: float | None = None
    gauge: str = ""
    reads: str = ""
    gauge_low_m: float | None = None


@dataclass(slots=True, kw_only=True)
class FirstPerson:
    """Somebody to be told; `number` in E.164."""

    name: str
    number: str
    landline: bool = False


@dataclass(slots=True, kw_only=True)
class Answers:
    """All that is asked. `rules`: TOML as `suggest` proposes it; numbers in E.164."""

    place: str = ""
    country: str = ""
    timezone: str = ""
    language: str = "en"
    device: str = ""
    box: str = ""
    box_number: str = ""
    rules: str = ""
    tanks: list[FirstTank] = field(default_factory=list)
    people: list[FirstPerson] = field(default_factory=list)
    drinkers: int = 0


def first_configuration(answers: Answers, store_url: str) -> str:
    """The file's text."""
    tank_ids = unique_ids([tank.name for tank in answers.tanks])
    person_ids = unique_ids([person.name for person in answers.people])
    box_id = unique_ids([answers.box])[0]
    parts = [
        _head(answers, store_url),
        _box(answers, box_id),
        *(
            _tank(tank, tank_id, answers.tanks, tank_ids, box_id)
            for tank, tank_id in zip(answers.tanks, tank_ids, strict=True)
        ),
        _demand(answers.drinkers),
        *(
            _person(person, name, answers.country, place)
            for place, (person, name) in enumerate(zip(answers.people, person_ids, strict=True))
        ),
        _weekly(person_ids),
    ]
    return "\n".join(part for part in parts if part)


def unique_ids(names: Sequence[str]) -> list[str]:
    """`House tank` → `house`: the first word in small letters, numbered where two begin alike."""
    ids: list[str] = []
    for name in names:
        words = ["".join(char for char in word.casefold() if char.isalnum()) for word in name.split()]
        first = next((word for word in words if word), "x")
        number = 2
        wanted = first
        while wanted in ids:
            wanted, number = f"{first}{number}", number + 1
        ids.append(wanted)
    return ids


def _text(value: str) -> str:
    """A TOML string: JSON's form is one of TOML's."""
    return json.dumps(value, ensure_ascii=False)


def _table(values: dict[str, Any]) -> str:
    pairs = (f"{key} = {_text(value) if isinstance(value, str) else value}" for key, value in values.items())
    return f"{{ {', '.join(pairs)} }}"


def _head(answers: Answers, store_url: str) -> str:
    return f"""# A first configuration, made by `tank-gateway begin`. `config/gateway.toml` of the program explains every key;
# after each change: tank-gateway check, then systemctl reload tank-gateway.

[site]
name = {_text(answers.place)}
timezone = {_text(answers.timezone)}
country = {_text(answers.country)}
language = {_text(answers.language)}

[modem]
device = {_text(answers.device)}
# pin_file = "sim-pin"            # the name of a file that holds the SIM's PIN, if it has one; never the PIN itself

[store]
url = {_text(store_url)}
# backup_folder = ""              # a folder on another medium: a backup a day
"""


def _box(answers: Answers, box_id: str) -> str:
    rules = (
        answers.rules.strip()
        or "# No rules yet: each text is passed on word for word. `tank-gateway suggest texts.txt` proposes some."
    )
    return f"""[[controllers]]
id = {_text(box_id)}
name = {_text(answers.box)}
number = {_text(to_national(answers.box_number, answers.country))}
silence_after = "26h"             # it texts at least once a day? Else longer, or "auto": from its own rhythm

{rules}
"""


def _tank(tank: FirstTank, tank_id: str, tanks: Sequence[FirstTank], ids: Sequence[str], box_id: str) -> str:
    lines = ["[[tanks]]", f"id = {_text(tank_id)}", f"name = {_text(tank.name)}"]
    if tank.shape is not None:
        lines.append(f"shape = {_table(tank.shape)}")
    upstream = [its_id for other, its_id in zip(tanks, ids, strict=True) if other.name == tank.fed_by]
    if upstream:
        lines.append(f"fed_by = [{_text(upstream[0])}]")
    if tank.gauge:
        lines += ["", "  [[tanks.gauges]]", f"  controller = {_text(box_id)}", f"  input = {_text(tank.gauge)}"]
        lines += [f"  reads = {_text(tank.reads)}", f"  low_m = {tank.gauge_low_m:g}", "  band_m = 0.1"]
    for means, which, level in (("low", tank.low_input, tank.low_m), ("high", tank.high_input, tank.high_m)):
        if which:
            lines += ["", "  [[tanks.floats]]", f"  controller = {_text(box_id)}"]
            lines += [f"  input = {which if which.isdecimal() else _text(which)}", f"  means = {_text(means)}"]
            lines += (
                []
                if level is None
                else [f"  level_m = {level:g}             # water above the outlet at which it switches"]
            )
    return "\n".join(lines) + "\n"


def _demand(drinkers: int) -> str:
    return (
        f"[demand]\npeople = {drinkers}                        # who draw water; animals: see the reference\n"
        if drinkers
        else ""
    )


def _person(person: FirstPerson, person_id: str, country: str, place: int) -> str:
    line = 'line = "landline"                 # the words are spoken, and nobody can reply\n' if person.landline else ""
    return f"""[[contacts]]
id = {_text(person_id)}
name = {_text(person.name)}
number = {_text(to_national(person.number, country))}
{line}turn = {place + 1}                          # who is told first; the next ones if nobody takes it ([call_out] take_within)
# quiet = "22:00-06:30"           # what is not urgent waits until it ends
"""


def _weekly(person_ids: Sequence[str]) -> str:
    if not person_ids:
        return ""
    return f"""# A message by itself each week: where it does not come on a Sunday, the gateway is dead.
[digest]
day = "sunday"
contacts = [{_text(person_ids[0])}]

[call_out]
take_within = "15m"               # nobody replied OK within this: the next one is told
"""
