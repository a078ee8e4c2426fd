"""A running simulated modem and a line to it; nothing is left behind."""

import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from gateway.simulator import SimulatedModem
from tests.simulator.line import Line


@pytest.fixture
def start() -> Iterator[Callable[..., tuple[SimulatedModem, Line]]]:
    """start(habits=…, faults=…, link=…) → (modem, line), initialised unless `bare`."""
    with ExitStack() as undo:

        def begin(bare: bool = False, **settings: Any) -> tuple[SimulatedModem, Line]:
            modem = undo.enter_context(SimulatedModem(settings.pop("link", None), **settings))
            line = Line(modem.device)
            undo.callback(line.port.close)
            if not bare:
                line.initialise()
            return modem, line

        yield begin


@pytest.fixture
def nothing_left() -> Iterator[None]:
    """No thread and no file descriptor more than before."""
    before = threading.active_count(), open_files()
    yield
    assert (threading.active_count(), open_files()) == before


def open_files() -> int:
    """How many file descriptors this process has."""
    return sum(1 for _ in Path("/proc/self/fd").iterdir())
