"""The story that `rehearse` tells: its hours, and that it comes to its end."""

import json
import re
from datetime import timedelta

from gateway.__main__ import main
from gateway.simulator.story import STORY


def test_each_step_has_its_own_hour():
    """The story goes forward, and what a text says of its own time is the time at which it comes."""
    times = [step.at for step in STORY]
    assert times == sorted(times) and times[-1] - times[0] > timedelta(days=2)
    for step in STORY:
        for clock in re.findall(r"\b(?:LINE . (?:MADE|BROKE)|WELL) (\d{4})\b", step.text):
            assert step.does == "repeat" or clock == step.at.strftime("%H%M"), step


def test_the_story_is_true_to_its_hours(tmp_path, capsys):
    """A source that has failed is called a supply that stopped, never a leak, and spells last as long as they do in the story."""
    assert main(["rehearse", "--fast", "--folder", str(tmp_path / "told")]) == 0
    printed = capsys.readouterr().out
    assert "Supply seems stopped" in printed and "leak" not in printed
    assert "LOW since 06:42" in printed and "It was low for 29 h." in printed
    assert "Fri 06:57 -> Robin: Nobody took it yet" in printed, "the call-out moves on after a quarter of an hour"
    assert "It was silent for 42 h." in printed


def test_story_is_told_to_its_end(tmp_path, capsys):
    """Every step goes as it should, and the box is silent once, in its own step."""
    assert main(["rehearse", "--fast", "--json", "--folder", str(tmp_path / "told")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["told"] == told["of"] == len(STORY)
    silent = [step["told"] for step in told["steps"] if "silent" in step["events"]]
    assert silent == [STORY[-2].told]
