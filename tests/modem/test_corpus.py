"""Each make of `tests/corpus/modems`: its answers are read as what they mean, and its news is known."""

import tomllib
from pathlib import Path

import pytest

from gateway.modem.grammar import is_known_news
from gateway.ports import Condition, Listed, ModemReady
from gateway.simulator import Habits
from tests.fakes.test_port_suite import RIDGE, texts
from tests.modem.test_makes import bench_of

FILES = sorted((Path(__file__).parents[1] / "corpus/modems").glob("*.toml"))


@pytest.fixture(params=FILES, ids=lambda file: file.stem)
def make(request):
    """What stands in its file."""
    return tomllib.loads(request.param.read_text("utf-8"))


def test_its_answers(tmp_path, make):
    """Memories, network, and the texts in it."""
    habits = Habits(
        answers={command: tuple(lines) for command, lines in make["answers"].items()},
        memories=tuple(make["memories"]),
        buffers=tuple(make.get("buffers", (0, 1))),
    )
    bench = bench_of(tmp_path, habits)
    try:
        bench.deliver(RIDGE, "LINE 1 MADE")
        bench.start()
        assert list(bench.until(ModemReady).memories) == make["memories"]
        assert texts(bench.until(Listed)) == ["LINE 1 MADE"]
        assert bench.until(Condition).registered is make["registered"]
    finally:
        bench.close()


def test_its_news(make):
    """Of a known form, each."""
    assert [line for line in make["news"] if not is_known_news(line)] == []
