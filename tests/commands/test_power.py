"""`power` and `tanks` say how the battery stands, in 80 columns; what cannot be from a 12 V box is not believed."""

import json

import pytest

from gateway.__main__ import main
from gateway.clock import SystemClock
from tests.household import write_config

POWER = """
[controllers.power]
battery = { capacity_ah = 18 }
panel = { watts = 20, tilt_deg = 50, horizon_deg = 10 }
load = { standby_ma = 30 }
"""


def imported(folder, volts, controller=POWER):
    """The household with one old voltage a day, the last of them a day old; its file."""
    from datetime import timedelta

    file, now = str(write_config(folder, controller=controller)), SystemClock().now()
    lines = [
        f"{(now - timedelta(days=len(volts) - n)).isoformat()},0491 570 006,STATION WELL SUPPLY {level} V"
        for n, level in enumerate(volts)
    ]
    (folder / "old.csv").write_text("\n".join(["received_at,sender,text", *lines]))
    assert main(["import", str(folder / "old.csv"), "--config", file]) == 0
    return file


def test_without_a_record_the_voltage_is_not_known(tmp_path, capsys):
    """A mistyped path is named and nothing is made there; that no voltage was read would be believed."""
    file = str(write_config(tmp_path, controller=POWER))
    assert main(["power", "--config", file]) == 0
    out, err = capsys.readouterr()
    assert "Now: not known" in out and "no believable voltage" not in out
    assert f"there is no store at {tmp_path}/gateway.db" in err and not (tmp_path / "gateway.db").exists()


@pytest.mark.parametrize("command", ["power", "tanks"])
def test_the_day_it_will_be_low_is_said_in_80_columns(tmp_path, capsys, command):
    """Volts, charge by the table, the fall a day and the day of the low limit; no line is too long."""
    file = imported(tmp_path, (12.9, 12.85, 12.8, 12.75, 12.7, 12.65))
    capsys.readouterr()
    assert main([command, "--config", file]) == 0
    lines = capsys.readouterr().out.splitlines()
    shown = " ".join(lines)
    assert max(len(line) for line in lines) <= 80
    assert "falls 0.05 V a day" in shown and "reaches its low limit of 12 V about" in shown and "% charged" in shown


@pytest.mark.parametrize(
    ("volts", "panel", "says"),
    [
        ((12.9, 12.85, 12.8, 12.75, 12.7, 12.65), "watts = 20", "the sun should cover what it uses"),
        ((12.9, 12.85, 12.8, 12.75, 12.7, 12.65), "watts = 0.2", "a worn one is half empty in"),
        ((12.3, 12.3), "watts = 0.2", "It is more than half empty. As"),
    ],
)
def test_when_it_is_half_empty_is_said_by_the_months_sun(tmp_path, capsys, volts, panel, says):
    """The present voltage and what this month's sun leaves: days until half empty, or flat, or that the sun covers it."""
    file = imported(tmp_path, volts, POWER.replace("watts = 20", panel))
    capsys.readouterr()
    assert main(["power", "--config", file]) == 0
    lines = capsys.readouterr().out.splitlines()
    shown = " ".join(lines)
    assert says in shown and "For 14 dull days: a battery of 32 Ah" in shown and "from memory" in shown
    assert max(len(line) for line in lines) <= 80


def test_an_old_voltage_says_nothing_of_now(tmp_path, capsys):
    """Three days without a word: how full it is now is said to be unknown."""
    file = imported(tmp_path, (12.9, 12.85, "ok", "ok", "ok"), POWER)
    capsys.readouterr()
    assert main(["power", "--config", file]) == 0
    assert "How full it is now is unknown" in " ".join(capsys.readouterr().out.split())


def test_power_says_the_verdict_and_the_cautions(tmp_path, capsys):
    """Twelve months, what they come to, and what to beware of; without a store nothing is said of now."""
    assert main(["power", "--config", str(write_config(tmp_path, controller=POWER))]) == 0
    shown = capsys.readouterr().out
    assert shown.count("covers it") + shown.count("runs down") == 12
    for word in ("without sun", "acid", "freezes", "lightning", "roofs", "local codes", "licensed"):
        assert word in shown
    assert not (tmp_path / "gateway.db").exists()


def test_json_has_the_battery_now_beside_the_contract(tmp_path, capsys):
    """0.3 V and 60 V are kept as read and move nothing: the newest that can be is 12.6 V."""
    file = imported(tmp_path, (12.6, 0.3, 60, 12.6, 0.3))
    capsys.readouterr()
    assert main(["power", "--json", "--config", file]) == 0
    (ridge,) = json.loads(capsys.readouterr().out)["controllers"]
    assert set(ridge) >= {"id", "usable", "worst_month", "months"}
    assert [ridge["fourteen_dull_days"][what]["unit"] for what in ("battery", "panel")] == ["Ah", "W"]
    assert (ridge["now"]["volts"], ridge["now"]["low_volts"], ridge["now"]["low_on"]) == (12.6, 12.0, None)
    assert main(["texts", "--json", "--config", file]) == 0
    assert sum("SUPPLY 0.3 V" in text["text"] for text in json.loads(capsys.readouterr().out)["texts"]) == 2


def test_the_learnt_limit_is_shown(tmp_path, capsys):
    """With `silence_after = "auto"` the table says how long it may be silent, and that this was learnt."""
    file = imported(tmp_path, (12.6,) * 12, controller='silence_after = "auto"')
    capsys.readouterr()
    assert main(["tanks", "--config", file]) == 0
    assert "50h learnt" in capsys.readouterr().out
