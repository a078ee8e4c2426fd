"""`check` names what holds and will still not work as meant."""

import json

import pytest

from gateway.__main__ import main
from tests.household import write_config

QUIET = """
  [[controllers.rules]]
  text = "{text}"
  means = "{means}"
"""
POWER = """
  [controllers.power]
  battery = { capacity_ah = 18, volts = 12, chemistry = "lead-acid" }
  panel = { watts = PANEL, tilt_deg = 50 }
  load = { standby_ma = 300, text_ma = 300, texts_per_day = 4 }
"""
WEEKLY = """
[digest]
day = "Sunday"
contacts = ["wren"]
"""


def told(folder, capsys, *, change=None, code=0, **parts):
    """{key: (what is wrong, what would be right)} of the notes, or of the problems where it does not hold."""
    file = write_config(folder, **parts)
    if change is not None:
        assert change[0] in file.read_text()
        file.write_text(file.read_text().replace(*change, 1))
    assert main(["check", "--json", "--config", str(file)]) == code, capsys.readouterr()
    found = json.loads(capsys.readouterr().out)
    return {flaw["key"]: (flaw["wrong"], flaw["right"]) for flaw in found["problems" if code else "warnings"]}


@pytest.mark.parametrize(
    ("text", "means", "words"),
    [
        ("*", "alive", "takes every text"),
        ("*", "ignore", "takes every text"),
        ("Low *", "alive", "speaks of trouble (Low)"),
        ("TANK 2 EMPTY", "ignore", "speaks of trouble (EMPTY)"),
        ("REPORT *", "alive", None),
        ("MAINS FAIL", "power-lost", None),
    ],
)
def test_a_quiet_rule_that_swallows(tmp_path, capsys, text, means, words):
    """One that takes whatever comes, and one that calls an alarm a sign of life."""
    flaws = told(tmp_path, capsys, controller=QUIET.format(text=text, means=means))
    wrong, _ = flaws.get("controllers[0].rules[0].text", ("", ""))
    assert words in wrong if words else not wrong


@pytest.mark.parametrize(("limit", "before", "named"), [("25h", "1h", True), ("26h", "1h", False), ("49h", "1h", True)])
def test_an_asking_at_the_daily_texts_hour(tmp_path, capsys, limit, before, named):
    """A box that texts daily is asked when it is late, not when it is due."""
    ask = f'silence_after = "{limit}"\nask = {{ text = "REPORT", before_silence = "{before}" }}'
    assert ("controllers[0].ask" in told(tmp_path, capsys, controller=ask)) is named


@pytest.mark.parametrize(("watts", "named"), [("5", True), ("500", False)])
def test_a_panel_that_fails_in_winter(tmp_path, capsys, watts, named):
    """With the figures of its worst month."""
    flaws = told(tmp_path, capsys, controller=POWER.replace("PANEL", watts))
    assert ("controllers[0].power.panel" in flaws) is named
    if named:
        assert "in month 6 it brings" in flaws["controllers[0].power.panel"][0]


@pytest.mark.parametrize(
    ("rest", "key"),
    [("", "digest.day"), (WEEKLY, None), (WEEKLY.replace('["wren"]', "[]"), "digest.contacts")],
)
def test_a_gateway_whose_death_nobody_would_notice(tmp_path, capsys, rest, key):
    """The weekly message is missed where it is awaited; its day is taken as meant, whatever the capitals."""
    flaws = told(tmp_path, capsys, rest=rest)
    assert [name for name, (wrong, _) in flaws.items() if "nobody would notice" in wrong] == ([key] if key else [])


@pytest.mark.parametrize("device", ["Simulated", "simulate", "simulator"])
def test_a_device_near_simulated(tmp_path, capsys, device):
    """It would be looked for in vain for ever."""
    flaws = told(tmp_path, capsys, change=('device = "simulated"', f'device = "{device}"'), code=1)
    assert flaws["modem.device"][0] == "is no device"


def test_a_low_float_above_the_high_one(tmp_path, capsys):
    """Both would say the opposite."""
    high = """
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "high"
  level_m = 0.3
"""
    flaws = told(tmp_path, capsys, change=("level_m = 0.4\n", f"level_m = 0.4\n{high}"))
    assert "at or above its high one (0.3 m)" in flaws["tanks[0].floats[0].level_m"][0]


@pytest.mark.parametrize(
    ("key", "table"), [('language = "de"', "[site]"), ("turn = 1", "[[contacts]]"), ('ussd = "*1#"', "[balance]")]
)
def test_a_key_under_the_wrong_table(tmp_path, capsys, key, table):
    """The table that it belongs in is named."""
    flaws = told(tmp_path, capsys, change=('device = "simulated"', f'device = "simulated"\n{key}'), code=1)
    assert f"it belongs in {table}" in flaws[f"modem.{key.split()[0]}"][1]


@pytest.mark.parametrize(
    ("rest", "said", "who"),
    [
        ("", "If this board died nobody would notice: no message comes by itself.", []),
        (WEEKLY, "Wren (no message on Sunday at 18:00), 7d late at most.", [("Wren", 7)]),
        (
            WEEKLY.replace('["wren"]', '["wren", "robin"]'),
            "Wren and Robin (no message on Sunday",
            [("Wren and Robin", 7)],
        ),
        (WEEKLY.replace("Sunday", "off"), "nobody would notice", []),
        (
            WEEKLY + '[drill]\nevery = "90d"\n',
            "; everybody (no test of the chain), 90d late",
            [("Wren", 7), ("everybody", 90)],
        ),
        (
            '[drill]\nevery = "2d"\n' + WEEKLY,
            "everybody (no test of the chain), 2d late",
            [("everybody", 2), ("Wren", 7)],
        ),
    ],
)
def test_who_would_notice_if_the_board_died(tmp_path, capsys, rest, said, who):
    """And how late, the soonest first; as a line, and in the JSON."""
    file = write_config(tmp_path, rest=rest)
    assert main(["check", "--config", str(file)]) == 0
    assert said in " ".join(capsys.readouterr().out.split())
    assert main(["check", "--json", "--config", str(file)]) == 0
    found = json.loads(capsys.readouterr().out)["would_notice"]
    assert [(notice["who"], notice["within_s"] / 86400) for notice in found] == who
