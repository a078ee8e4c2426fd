"""The story that `rehearse` tells: its pace, and that it comes to its end."""

import itertools
import json

from gateway.__main__ import main
from gateway.commands.rehearse import PAUSE_S
from gateway.settings.durations import parse_duration
from gateway.settings.load import load
from gateway.simulator.story import RIDGE, STORY, configuration

SHARE_OF_SILENCE = 0.5
"""How much of `silence_after` the pauses for reading along may take: the rest is for a slow board's work."""


def test_pauses_do_not_make_the_box_silent(tmp_path):
    """At the pace for reading along the box is heard often enough, until the step in which it falls silent."""
    file = tmp_path / "gateway.toml"
    file.write_text(configuration(str(tmp_path / "gateway.db")))
    (box,) = load(str(file)).settings.controllers
    silence_s = parse_duration(box.silence_after).total_seconds()
    until_silent = [step.does for step in STORY].index("wait")
    heard = [at for at, step in enumerate(STORY[: until_silent + 1]) if step.sender == RIDGE and step.does == "text"]
    pauses = max(after - before for before, after in itertools.pairwise(heard))
    assert pauses * PAUSE_S <= silence_s * SHARE_OF_SILENCE


def test_story_is_told_to_its_end(tmp_path, capsys):
    """Every step goes as it should, and the box is silent once, in its own step."""
    assert main(["rehearse", "--fast", "--json", "--folder", str(tmp_path / "told")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["told"] == told["of"] == len(STORY)
    silent = [step["told"] for step in told["steps"] if "silent" in step["events"]]
    assert silent == [STORY[-2].told]
