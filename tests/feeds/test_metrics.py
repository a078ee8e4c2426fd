"""The metrics file: what it says of a household, that it holds to OpenMetrics, when it is written, and what it is never written over."""

import csv
import os
import stat
from datetime import timedelta
from pathlib import Path

import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from gateway.__main__ import main
from gateway.errors import ConfigurationWrong
from gateway.feeds.openmetrics import Family, Sample, openmetrics_text
from gateway.ports import Condition, ModemLost
from gateway.settings.load import load
from tests.fakes.fake_modem import NOT_SENT
from tests.faults.board import UNLIMITED, Board
from tests.feeds.strict_openmetrics import mistakes, parsed
from tests.household import RIDGE, WREN, write_config

PUBLISHED = "shared/published/openmetrics_cases.csv"
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
CASES = next((folder / PUBLISHED for folder in Path(__file__).resolve().parents if (folder / PUBLISHED).exists()), None)
LENIENT = ("# EOF without the last newline", "same sample twice")
"""What the standard forbids and the published parser lets pass."""
NOT_OURS = ("time stamp", "no TYPE line")
"""What the standard allows and we never write."""


@pytest.fixture
def home(tmp_path):
    """A board with a metrics file, not yet at work."""
    made = Board(tmp_path, rest=f'[metrics]\nfile = "{tmp_path / "tanks.prom"}"\n{UNLIMITED}')
    yield made
    made.cut()


@pytest.fixture
def file(tmp_path):
    """The file."""
    return tmp_path / "tanks.prom"


def figures(file):
    """What it says, held by the published parser and by our own checks."""
    return parsed(file.read_text())


def figure(file, name, **labels):
    """One of them; None: it is not said."""
    return figures(file).get(f"tank_gateway_{name}", {}).get(tuple(sorted(labels.items())))


def states(file, name, **labels):
    """Which state of a set holds."""
    held = [
        dict(key)[f"tank_gateway_{name}"]
        for key, value in figures(file)[f"tank_gateway_{name}"].items()
        if value and labels.items() <= dict(key).items()
    ]
    (state,) = held
    return state


@pytest.mark.skipif(CASES is None, reason="the published cases do not lie beside the project")
def test_the_checks_refuse_what_the_standard_forbids():
    """Each published case, by the parser and our checks together; what only ours find is named."""
    rows = [row for row in csv.DictReader(CASES.open(encoding="utf-8")) if row["kind"] == "case"]
    assert len(rows) > 20
    for row in rows:
        text = row["text_escaped"].encode().decode("unicode_escape")
        forbidden = row["result"] == "rejected" or row["item"].startswith(LENIENT)
        if row["item"].startswith(NOT_OURS):
            continue
        try:
            parsed(text)
            refused = False
        except ValueError:
            refused = True
        assert refused == forbidden, row["item"]


def test_labels_and_help_are_escaped():
    """A site may be called anything; a family without a figure is left out, and figures are whole."""
    named = 'Quandong "Ridge" \\ one\ntwo'
    families = (
        Family(name="a", type="info", help=named, samples=(Sample(value=1, labels={"site": named}),)),
        Family(name="b", type="gauge", help="none", samples=()),
        Family(name="c", type="counter", help="c", samples=(Sample(value=1764176400.123, labels={}),), created=5.5),
        Family(name="d_volts", type="gauge", help="d", samples=(Sample(value=12.6, labels={"x": "y"}),), unit="volts"),
    )
    text = openmetrics_text(families)
    assert not list(mistakes(text))
    one, three, four = text_string_to_metric_families(text)
    assert (one.samples[0].labels, one.documentation) == ({"site": named}, named)
    assert [(sample.name, sample.value) for sample in three.samples] == [
        ("c_total", 1764176400.123),
        ("c_created", 5.5),
    ]
    assert (four.unit, four.samples[0].value) == ("volts", 12.6)


def test_it_tells_of_tanks_alarms_box_queue_modem_and_store(home, file):
    """Before and after a low tank; what nobody knows has no sample."""
    home.start()
    assert states(file, "tank_state", tank="house") == "unknown" and figure(file, "alarms", priority="urgent") == 0
    assert figure(file, "controller_heard_timestamp_seconds", controller="ridge") is None
    assert figure(file, "controller_volts", controller="ridge") is None
    home.hears(RIDGE, "SUPPLY 12.6 V")
    home.hears(RIDGE, "LINE 1 BROKE 0700")
    home.pass_time(MINUTE)
    assert states(file, "tank_state", tank="house") == "ok" and figure(file, "segments_sent_total") == 0
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(MINUTE)
    assert states(file, "tank_state", tank="house") == "low" and states(file, "controller_state") == "heard"
    assert figure(file, "alarms", priority="urgent") == 1 and figure(file, "alarms_nobodys") == 1
    assert figure(file, "controller_volts", controller="ridge") == 12.6
    heard = figure(file, "controller_heard_timestamp_seconds", controller="ridge")
    assert 0 <= figure(file, "written_timestamp_seconds") - heard <= 120
    assert figure(file, "segments_sent_total") == 2 and figure(file, "messages_waiting") == 0
    low, likely, high = (figure(file, "tank_litres", tank="house", of=of) for of in ("low", "likely", "high"))
    assert 0 <= low <= likely <= high <= 5700
    dry = [figure(file, "tank_dry_timestamp_seconds", tank="house", of=of) for of in ("early", "likely", "late")]
    assert dry == sorted(dry) and dry[0] > heard
    assert figure(file, "store_size_bytes") > 1000 < figure(file, "store_free_bytes")
    assert figure(file, "trouble", kind="modem-lost") == 0
    home.hears(WREN, "OK")
    home.pass_time(MINUTE)
    assert figure(file, "alarms_nobodys") == 0 and figure(file, "alarms", priority="urgent") == 1


def test_what_waits_and_what_the_modem_says_is_told(home, file):
    """A queue that does not move, the modem's signal, and a modem that is lost."""
    home.start()
    assert (figure(file, "modem_signal_ratio"), figure(file, "modem_registered")) == (0.55, 1)
    home.modem._say(Condition(signal_percent=20.0, registered=False, operator=None, sim="ready"))
    home.pass_time(MINUTE)
    assert (figure(file, "modem_signal_ratio"), figure(file, "modem_registered")) == (0.2, 0)
    home.modem.usual = NOT_SENT
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(MINUTE)
    assert figure(file, "messages_waiting") == 2
    home.modem._say(ModemLost(why="it was pulled out"))
    home.pass_time(10 * MINUTE)
    assert figure(file, "trouble", kind="modem-lost") == 1


def test_written_when_something_changed_and_hourly(home, file):
    """A sign of life is news of the box; at rest it is an hour old at the most."""
    home.start()
    home.hears(RIDGE, "STATION WELL 1")
    home.pass_time(2 * MINUTE)
    first = figure(file, "written_timestamp_seconds")
    home.pass_time(HOUR - 3 * MINUTE)
    assert figure(file, "written_timestamp_seconds") == first
    home.pass_time(4 * MINUTE)
    assert figure(file, "written_timestamp_seconds") > first
    home.hears(RIDGE, "STATION WELL 2")
    home.pass_time(timedelta(seconds=3))
    heard = figure(file, "controller_heard_timestamp_seconds", controller="ridge")
    assert figure(file, "written_timestamp_seconds") - heard < 10


def test_other_programs_may_read_it_and_no_link_is_followed(home, file, tmp_path):
    """Whatever the service's umask; a link laid in its place is replaced."""
    precious = tmp_path / "precious"
    precious.write_text("# TYPE kept\n")
    file.symlink_to(precious)
    before = os.umask(0o077)
    try:
        home.start()
    finally:
        os.umask(before)
    assert stat.S_IMODE(file.lstat().st_mode) == 0o644 and not file.is_symlink()
    assert precious.read_text() == "# TYPE kept\n" and figures(file)


def test_another_file_is_left_as_it_is(home, file, caplog):
    """A slip in the configuration costs neither that file nor the gateway; it is said."""
    caplog.set_level("INFO", "gateway")
    file.write_text("what was here before")
    home.start()
    assert file.read_text() == "what was here before"
    assert "metrics file was not written" in caplog.text and "left as it is" in caplog.text
    home.hears(RIDGE, "LINE 1 MADE 0717")
    assert home.arrived()


def test_a_path_that_is_not_whole_is_a_mistake(tmp_path):
    """With its line and what would be right."""
    with pytest.raises(ConfigurationWrong) as wrong:
        load(str(write_config(tmp_path, rest='[metrics]\nfile = "tanks.prom"')))
    (problem,) = wrong.value.problems
    assert problem.key == "metrics.file" and "/run/" in problem.right
    assert main(["check", "--config", str(write_config(tmp_path, rest='[metrics]\nfile = "/tmp/x.prom"'))]) == 0
