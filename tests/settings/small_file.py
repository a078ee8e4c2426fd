"""A small configuration in which nothing is odd, and what is said of it after a change."""

from gateway.errors import ConfigurationWrong
from gateway.settings.load import load_text

SMALL = """\
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"

[modem]
device = "simulated"

[store]
url = "sqlite:////var/lib/tank-gateway/gateway.db"

[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
silence_after = "26h"

  [[controllers.rules]]
  text = "LINE {input} {state} *"
  means = "input"
  active = ["MADE"]
  idle = ["BROKE"]

[[tanks]]
id = "spring"
name = "Spring tank"

  [[tanks.floats]]
  controller = "ridge"
  input = 2

[[tanks]]
id = "house"
name = "House tank"
fed_by = ["spring"]
shape = { kind = "box", length_m = 2.0, width_m = 1.0, height_m = 1.8 }

  [[tanks.floats]]
  controller = "ridge"
  input = 1
  level_m = 0.45

[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"

[[contacts]]
id = "hall"
name = "Hall"
number = "02 5550 0100"
line = "landline"
"""

BEHIND_THE_BOX = '\n[[tanks]]\nid = "spring"'
HILL = '\n[[tanks]]\nid = "hill"\nname = "Hill tank"\n'
LIMITS = "low_m = 0.45\nhigh_m = 1.7\nband_m = 0.05"


def said_after(*changes: tuple[str, str]) -> list[str]:
    """`key: what is wrong` of every problem once each old piece is replaced by its new one ("": at the end), notes and suggestions marked."""
    text = SMALL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1) if old else text + new
    try:
        problems = load_text(text, "gateway.toml").warnings
    except ConfigurationWrong as refused:
        problems = refused.problems
    meant = [problem for problem in problems if "kept for fiction" not in problem.wrong]
    return [
        f"{'note ' if problem.warning else ''}{problem.key}: {problem.wrong}"
        + (f" → {problem.suggestion}" if problem.suggestion else "")
        for problem in meant
    ]


def table(text: str) -> tuple[str, str]:
    """A table of its own before the store's."""
    return "[store]", f"{text}\n\n[store]"


def errand(name: str, keys: str) -> tuple[str, str]:
    """The box has that errand."""
    return BEHIND_THE_BOX, f'\n  [[controllers.errands]]\n  id = "{name}"\n{keys}\n{BEHIND_THE_BOX}'


def power(battery: str, keys: str = "") -> tuple[str, str]:
    """The box has a battery and a panel."""
    load = "panel = { watts = 10 }\nload = { standby_ma = 20 }"
    return (
        BEHIND_THE_BOX,
        f"\n[controllers.power]\nbattery = {{ capacity_ah = 7{battery} }}\n{load}\n{keys}\n{BEHIND_THE_BOX}",
    )


def gauge(reads: str, keys: str, *, shaped: bool = False) -> tuple[str, str]:
    """A third tank, with a gauge."""
    shape = 'shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }\n' if shaped else ""
    return "", f'{HILL}{shape}[[tanks.gauges]]\ncontroller = "ridge"\ninput = "L1"\nreads = "{reads}"\n{keys}\n'


def shape(text: str) -> tuple[str, str]:
    """The house tank has that shape."""
    return 'kind = "box", length_m = 2.0, width_m = 1.0, height_m = 1.8', text


def another_float(means: str, level_m: float) -> tuple[str, str]:
    """The house tank has a second one."""
    floats = f'[[tanks.floats]]\ncontroller = "ridge"\ninput = 3\nmeans = "{means}"\nlevel_m = {level_m}'
    return "level_m = 0.45", f"level_m = 0.45\n{floats}"
