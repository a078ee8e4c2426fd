"""`drill`, and `doctor --text`, beside a `serve` that runs: what they wait for, what they say, their JSON."""

import json

import pytest

from gateway.__main__ import main
from gateway.simulator import Policy
from tests.errands.field import in_the_field
from tests.household import ROBIN, WREN, write_config


@pytest.fixture(scope="module")
def field(tmp_path_factory):
    """Wren and Robin, each with a phone that answers a test with OK."""
    with in_the_field(tmp_path_factory.mktemp("field")) as at_work:
        at_work.network.hearers.append(lambda sent: answer(at_work, sent))
        yield at_work


def answer(field, sent):
    """What the phone does; never the same octets within one second, which would be one text that the network brought twice."""
    if "reply OK" in sent.text:
        field.network.deliver(sent.number, "OK" + " " * len(field.got(sent.number)))


def test_the_document_of_the_contract(field):
    """Everybody answered: each leg in seconds, in the order in which they come."""
    code, document, _ = field.document("drill")
    assert code == 0 and [leg["contact"] for leg in document["contacts"]] == ["wren", "robin"]
    for leg in document["contacts"]:
        assert list(leg) == ["contact", "result", "sent_after_s", "delivered_after_s", "answered_after_s"]
        assert leg["result"] == "answered" and leg["sent_after_s"] <= leg["answered_after_s"]


def test_one_who_cannot_be_reached_is_named(field):
    """The network refuses that number for good: exit 1, and the others were tested all the same."""
    field.network.policy(ROBIN, Policy(refuse=28), times=1)
    code, out, _ = field.command("drill")
    assert code == 1 and "Not reached, or no OK: Robin." in out and "Wren" in out


def test_one_alone(field):
    """Only Wren gets it."""
    before = len(field.got(ROBIN))
    code, document, _ = field.document("drill", "--to", "wren")
    assert (code, [leg["contact"] for leg in document["contacts"]], len(field.got(ROBIN))) == (0, ["wren"], before)
    assert field.command("drill", "--to", "wern")[0] == 1


@pytest.mark.parametrize(
    ("policy", "says", "right"),
    [
        (Policy(), "delivered to Wren", True),
        (Policy(report="failed"), "not delivered to Wren", False),
        (Policy(refuse=28), "not delivered to Wren", False),
    ],
)
def test_doctor_awaits_the_delivery(field, policy, says, right):
    """And says how it went instead of that it was handed on."""
    field.network.policy(WREN, policy, times=1)
    code, document, _ = field.document("doctor", "--text", "wren")
    (finding,) = [row for row in document["findings"] if row["what"] == "test message"]
    assert says in finding["said"] and finding["right"] is right and (code == 1) is (not right)


def test_without_a_daemon(tmp_path, capsys):
    """It says so, and no test waits for a day on which nobody thinks of it."""
    file = str(write_config(tmp_path))
    assert main(["drill", "--config", file]) == 1
    assert "no daemon runs" in capsys.readouterr().err
    main(["texts", "--json", "--config", file])
    out = capsys.readouterr().out
    assert not out or json.loads(out)["texts"] == []
