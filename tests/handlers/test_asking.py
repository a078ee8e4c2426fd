"""A controller is asked with its owner's own words, in time, once a silence, and as often as the owner said; a restart asks nothing anew."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from tests.handlers.days import Days
from tests.household import RIDGE, at_home, write_config

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
H = timedelta(hours=1)


def asked(days):
    """What waits for the box's own number."""
    return [text for number, text in days.outbox() if number == RIDGE]


def wheel(days, start, end):
    """Looks whenever it is due, as the daemon does; each time another daemon, for nothing is kept but in the store."""
    now = start
    while now <= end:
        days.judge(now)
        after = days.due(now)
        assert after is None or after > now, "due again at once: it would never rest"
        if after is None:
            return
        now = after


@pytest.mark.parametrize(
    ("ask", "until", "times", "silent"),
    [
        ('ask = { text = "STATUS 4711" }', 30 * H, 1, 1),
        ('ask = { text = "STATUS 4711", before_silence = "5h" }', 24 * H, 1, 0),
        ('ask = { text = "STATUS 4711", before_silence = "40h" }', 24 * H, 1, 0),
        ('ask = { text = "STATUS 4711" }', 24 * H, 0, 0),
        ('ask = { text = "STATUS 4711", every = "12h" }', 25 * H, 3, 0),
        ('ask = { text = "STATUS 4711", every = "12h" }', 61 * H, 6, 1),
        ('silence_after = "off"\nask = { text = "STATUS 4711", every = "12h" }', 61 * H, 5, 0),
        ('ask = { text = "", every = "12h" }', 61 * H, 0, 1),
    ],
)
def test_how_often_it_is_asked(tmp_path, ask, until, times, silent):
    """Once before a silence (an hour ahead unless said otherwise), besides on `every`, never with a text that was guessed."""
    days = Days(tmp_path, controller=ask)
    days.judge(JULY)
    days.comes(JULY)
    wheel(days, JULY, JULY + until)
    assert (asked(days), len(days.events("silent"))) == (["STATUS 4711"] * times, silent)


def test_an_answer_read_by_any_rule_puts_the_silence_off(tmp_path):
    """Also one that no rule reads: that it came is what counts."""
    days = Days(tmp_path, controller='ask = { text = "STATUS 4711" }')
    days.judge(JULY)
    days.comes(JULY)
    for round_ in range(4):
        start = JULY + round_ * 25 * H
        wheel(days, start, start + 25 * H)
        days.comes(start + 25 * H, f"what ever {round_}")
    assert len(asked(days)) == 4 and not days.events("silent")


def test_the_words_may_stand_in_a_file(tmp_path):
    """Real path: what the file says is sent, and the configuration holds no secret; `every` goes on while it is heard."""
    (tmp_path / "secret").write_text("STATUS 4711\n")
    controller = f'silence_after = "1d"\nask = {{ text_file = "{tmp_path}/secret", every = "1s" }}'
    with at_home(tmp_path, controller=controller) as home:
        assert home.sent(2)[:2] == [(RIDGE, "STATUS 4711")] * 2
    assert "4711" not in (tmp_path / "gateway.toml").read_text()


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        ('text_file = "FOLDER/none"', "cannot be read"),
        ('text_file = "FOLDER/empty"', "is empty"),
        ('text_file = "FOLDER/octets"', "cannot be read"),
        ('text = "A", text_file = "FOLDER/empty"', "both text and text_file"),
    ],
)
def test_a_file_that_says_nothing_is_refused(tmp_path, capsys, ask, says):
    """Else the box would quietly never be asked; with the line."""
    (tmp_path / "empty").write_text("\n")
    (tmp_path / "octets").write_bytes(b"\xff\xfe\x00")
    file = write_config(tmp_path, controller=f"ask = {{ {ask.replace('FOLDER', str(tmp_path))} }}")
    assert main(["check", "--config", str(file)]) == 1
    problem = next(line for line in capsys.readouterr().err.splitlines() if "text_file" in line and "note" not in line)
    assert says in problem and "ask" in file.read_text().splitlines()[int(problem.split(":")[1]) - 1]
