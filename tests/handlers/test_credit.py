"""The SIM's credit: told once when it is low, passed on whole when nobody can read the answer."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.handlers import credit
from gateway.modem import Times
from gateway.ports import NetworkSaid
from tests.handlers.days import Days
from tests.household import RIDGE, WREN, at_home, write_config

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)
ASKED = """
[balance]
ussd = "*100#"
pattern = 'Credit (?P<amount>[\\d.,]+)'
every = "1d"
low = 5.0
"""


def come(days, now, answer, why=""):
    """The network's answer."""
    days.at(now, lambda unit: credit.credit_answered(unit, NetworkSaid(code="*100#", said=answer, why=why)))


@pytest.fixture
def days(tmp_path):
    """A household that asks every day."""
    made = Days(tmp_path, rest=ASKED)
    yield made
    made.store.close()


def test_low_is_told_once_and_enough_again_once(days):
    """Below the limit one event and one message however often it is asked; back once."""
    for number, amount in enumerate((12.4, 4.99, 3.1, 0, 20, 19)):
        come(days, JULY + number * DAY, f"Credit {amount} AUD")
    assert [event.kind for event in days.events("credit-low", "credit-back")] == ["credit-low", "credit-back"]
    assert [text for _, text in days.outbox()] == [
        "The gateway's SIM has 4.99 EUR left. Top it up: without credit no alarm leaves.",
        "The gateway's SIM has credit again: 20.00 EUR.",
    ]


def test_an_answer_nobody_can_read_goes_on_whole_and_once(days):
    """Word for word, in as many messages as it takes, to whoever looks after the gateway; again only after one was read."""
    raw = "Dear customer, " + "your tariff has changed; " * 7 + "see our page."
    come(days, JULY, raw)
    come(days, JULY + DAY, raw)
    pieces = [text for number, text in days.outbox() if number == WREN]
    assert raw in "".join(pieces) and len(pieces) == 2 and len(days.outbox()) == 2
    come(days, JULY + 2 * DAY, "Credit 9")
    come(days, JULY + 3 * DAY, "what")
    assert len(days.events("credit-unread")) == 2


def test_no_answer_is_told_after_three(days):
    """One lost answer is nothing; three in a row are told once. When it is asked again: `tests/service/test_calendar_jobs.py`."""
    for number in range(2):
        come(days, JULY + number * H, None, "no answer within 60 s")
    assert not days.outbox()
    for number in range(2, 5):
        come(days, JULY + number * H, None, "no answer within 60 s")
    assert [text for _, text in days.outbox()] == ["The SIM's credit could not be read: no answer within 60 s"]


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ("pattern = 'Credit ('", "balance.pattern"),
        (r"pattern = 'Credit (\d+)'", "balance.pattern"),
        ("", "balance.ussd"),
        ("pattern = '(?P<amount>1)'\nevery = \"5m\"", "balance.every"),
        ("pattern = '(?P<amount>1)'\nlows = 5", "balance.lows"),
    ],
)
def test_check_refuses_what_cannot_work(tmp_path, capsys, table, key):
    """A pattern that is none or finds no amount, a code without a pattern, asking all the time: with line and reason."""
    file = write_config(tmp_path, rest=f'[balance]\nussd = "*100#"\n{table}\n')
    assert main(["check", "--config", str(file)]) == 1
    problems = capsys.readouterr().err
    assert key in problems and any(f":{number}:" in problems for number in range(1, 200))


def test_on_the_real_path(tmp_path):
    """Simulated modem, pyserial, dialogue, store: asked at the start, low told; a restart asks and tells nothing again."""
    parts = {"rest": ASKED.replace("5.0", "20"), "times": Times(ussd_s=5)}
    with at_home(tmp_path, **parts) as home:
        assert home.sent(1) == [
            (WREN, "The gateway's SIM has 12.40 EUR left. Top it up: without credit no alarm leaves.")
        ]
    with at_home(tmp_path, **parts) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.came("low")
        assert not any("CUSD" in command for command in home.modem.commands)
        assert len(home.events("credit-low")) == 1
