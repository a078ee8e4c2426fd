"""Run in a program that has the field `{pressure}` (`test_recipes.py`): the household's box tells how much it has."""

import json
import sys
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

from gateway.__main__ import main
from tests.household import RIDGE, at_home

RULE = """
  [[controllers.rules]]
  text = "PRESS {pressure} BAR"
  means = "reading"
"""


def printed(*arguments: str) -> str:
    """What a command prints, in one line; it must end well."""
    out = StringIO()
    with redirect_stdout(out):
        assert main(list(arguments)) == 0, out.getvalue()
    return " ".join(out.getvalue().split())


def run(folder: Path) -> None:
    """From the text on the air to every place where a number is shown."""
    with at_home(folder, controller=RULE) as home:
        home.modem.network.deliver(RIDGE, "PRESS 2,4 BAR")
        (reading,) = home.came("reading")
        assert reading.detail["pressure"] == 2.4, reading
    config = ("--config", str(folder / "gateway.toml"))
    assert "expected a number of bar" in printed("explain", "PRESS low", *config)
    assert "pressure 2.4" in printed("explain", "PRESS 2.4 BAR", *config)
    (explained,) = json.loads(printed("explain", "PRESS 2.4 BAR", "--json", *config))["readings"]
    assert (explained["pressure"], explained["volts"]) == (2.4, None)
    assert "pressure" in printed("tanks", *config)
    (controller,) = json.loads(printed("tanks", "--json", *config))["controllers"]
    assert controller["pressure"] == 2.4
    happened = json.loads(printed("history", "--json", *config))["events"]
    assert [event["detail"]["pressure"] for event in happened if event["kind"] == "reading"] == [2.4]
    page = folder / "page.html"
    printed("page", "--full", str(page), *config)
    assert "<dt>pressure</dt><dd>2.4 bar</dd>" in page.read_text("utf-8")
    assert "Ridge box told: 2.4 bar." in page.read_text("utf-8")
    samples = folder / "samples.txt"
    samples.write_text("LID SHUT Pressure: 2.4 bar\nLID OPEN Pressure: 1.9 bar\n", "utf-8")
    assert "{pressure}" in printed("suggest", str(samples), "--json")


if __name__ == "__main__":
    run(Path(sys.argv[1]))
