"""The story that `rehearse` tells: its hours, and that it comes to its end."""

import io
import json
import re
from contextlib import closing, redirect_stdout
from datetime import timedelta
from pathlib import Path

import pytest

from gateway.__main__ import main
from gateway.simulator.story import STORY
from gateway.storage import open_store


def test_each_step_has_its_own_hour():
    """The story goes forward, and what a text says of its own time is the time at which it comes."""
    times = [step.at for step in STORY]
    assert times == sorted(times) and times[-1] - times[0] > timedelta(days=2)
    for step in STORY:
        for clock in re.findall(r"\b(?:LINE . (?:MADE|BROKE)|WELL) (\d{4})\b", step.text):
            assert step.does == "repeat" or clock == step.at.strftime("%H%M"), step


@pytest.fixture(
    scope="module",
    params=[pytest.param(60, id="two months"), pytest.param(365, id="a year", marks=pytest.mark.soak)],
)
def printed(request, tmp_path_factory):
    """The story as it is printed where a program reads it, and where it was kept; before it two months, in the soak a year as at home."""
    folder, output = tmp_path_factory.mktemp("printed") / "told", io.StringIO()
    with pytest.MonkeyPatch.context() as patched, redirect_stdout(output):
        patched.setattr("gateway.commands.rehearse.YEAR_BEFORE_DAYS", request.param)
        assert main(["rehearse", "--fast", "--folder", str(folder)]) == 0
    return output.getvalue(), folder


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """The story as JSON, after two months instead of a year: what it tells is the story."""
    output = io.StringIO()
    with pytest.MonkeyPatch.context() as patched, redirect_stdout(output):
        patched.setattr("gateway.commands.rehearse.YEAR_BEFORE_DAYS", 60)
        assert main(["rehearse", "--fast", "--json", "--folder", str(tmp_path_factory.mktemp("json") / "told")]) == 0
    return json.loads(output.getvalue())


def test_the_story_is_true_to_its_hours(printed):
    """A source that has failed is called a supply that stopped, never a leak, and spells last as long as they do in the story."""
    lines, _ = printed
    assert "Supply seems stopped" in lines and "leak" not in lines
    assert "LOW since 06:42" in lines and "It was low for 29 h." in lines
    assert re.search(
        r"Fri 06:42  to Wren: Spring tank LOW.*?Fri 06:57  to Robin: .*?Nobody has\s+it yet", lines, re.DOTALL
    ), "the call-out moves on after a quarter of an hour"
    assert "It was silent for 33 h." in lines


def test_the_house_tank_is_full_about_when_it_was_said(printed):
    """It was foretold for the morning, as the step says in which Wren notes it: later than that, nobody would have looked yet."""
    lines, _ = printed
    said = re.findall(r"House tank is no longer low.*?Likely full\s+about\s+Sun\s+(\d\d):(\d\d)\.", lines, re.DOTALL)
    (full,) = (step for step in STORY if "tank full" in step.text)
    assert "in the course of the morning" in full.told and full.at.strftime("%a %H:%M") == "Sun 10:20"
    assert said and all(7 * 60 <= int(hour) * 60 + int(minute) <= 10 * 60 + 20 for hour, minute in said)


def test_nobody_is_woken_for_what_is_not_urgent(printed):
    """At night nothing leaves; the text that no rule reads and the box's silence leave when Wren's quiet hours end."""
    lines, _ = printed
    assert "Sat 06:30  to Wren: Ridge box sent at 22:40: FLT 07 AUX LID?" in lines
    assert "Mon 06:30  to Wren: Ridge box SILENT: no word since Sat 23:30." in lines
    assert not re.findall(r"^ +\w+ (?:2[2-3]|0[0-5]):\d\d  to .*$", lines, re.MULTILINE)


def test_the_page_shows_a_year(printed):
    """Its charts have something to show: the year before was lived in the same store."""
    lines, folder = printed
    assert str(folder / "page.html") in lines
    page = (folder / "page.html").read_text()
    assert page.count("<svg") > 6 and "Time between low spells: as a table" in page


def test_story_is_told_to_its_end(told):
    """Every step goes as it should, and the box is silent once, in its own step."""
    assert told["told"] == told["of"] == len(STORY)
    silent = [step["told"] for step in told["steps"] if "silent" in step["events"]]
    assert silent == [STORY[-2].told]


def test_nothing_is_left_unfinished(told):
    """No message waits when the story ends, and no low tank or silent box stands."""
    with (
        closing(open_store(f"sqlite:///{Path(told['config']).with_name('gateway.db')}", "Quandong Ridge")) as store,
        store.read() as reader,
    ):
        assert not reader.outbox()
        last = {
            (event.tank or event.controller, kind): event
            for kind in ("low", "low-over", "silent", "heard-again")
            for event in reader.events(kinds=(kind,))
        }
        assert last["spring", "low"].at < last["spring", "low-over"].at
        assert last["house", "low"].at < last["house", "low-over"].at
        assert last["ridge", "silent"].at < last["ridge", "heard-again"].at


def test_an_errand_goes_to_the_box_and_comes_back(told):
    """Ordered by a text, sent with the hour filled in, answered as expected, and told to who asked."""
    place = next(number for number, step in enumerate(STORY) if step.text.startswith("ASK"))
    asked, answered = told["steps"][place : place + 2]
    to_the_box = [message["text"] for message in asked["messages"] if message["to"] == "Ridge box"]
    assert "errand-ordered" in asked["events"] and to_the_box == ["REPORT 07:10"]
    assert "errand-answered" in answered["events"]
    assert [message["to"] for message in answered["messages"]] == ["Robin"]
    assert "STATION WELL 0711" in answered["messages"][0]["text"]
