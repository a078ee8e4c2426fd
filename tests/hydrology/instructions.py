"""What one forecast of all tanks costs, in instructions: the same on a loaded machine, and a slow board's time follows from it.

`python -m tests.hydrology.instructions` (needs valgrind) counts a run with one forecast and a run with five; a quarter of the difference is one.
"""

import os
import re
import subprocess
import sys
from datetime import UTC

from gateway.water.tank_outlook import outlook
from tests.hydrology.measure import WORLDS, events_told, states_then
from tests.hydrology.supply import settings_of, simulate
from tests.water.learn_anew import learn

EPISODES = 10
"""The last of them is foretold; nine are known."""
COUNT = (
    "valgrind",
    "--tool=callgrind",
    "--callgrind-out-file=/dev/null",
    sys.executable,
    "-m",
    "tests.hydrology.instructions",
)


def forecast_so_often(times: int, name: str) -> None:
    """As the house tank goes low for the last time."""
    world = WORLDS[name]
    story, settings = simulate(world, len(name), EPISODES), settings_of(world, 1.0)
    at = [episode.low_at for episode in story.episodes if episode.low_at is not None][-1]
    learnt = learn(events_told(story, at, dry_told=True), settings, UTC)
    states = states_then(world, story, at, settings)
    for _ in range(times):
        outlook(settings, states, learnt, at, UTC, str)


def counted(times: int, name: str) -> int:
    """Instructions of a whole process that does so."""
    environment = {**os.environ, "PYTHONHASHSEED": "0"}
    done = subprocess.run([*COUNT, str(times), name], capture_output=True, text=True, env=environment, check=True)
    found = re.search(r"Collected : (\d+)", done.stderr)
    assert found, done.stderr
    return int(found[1])


if __name__ == "__main__":
    if len(sys.argv) > 1:
        forecast_so_often(int(sys.argv[1]), sys.argv[2])
    else:
        for each in WORLDS:
            print(f"{each}: {(counted(5, each) - counted(1, each)) / 4 / 1e6:.0f} million instructions")
