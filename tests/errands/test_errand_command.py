"""`errand` beside a `serve` that runs, on a box that answers: exit codes, JSON, what is said at the terminal."""

import json
import re

import pytest

from gateway.__main__ import main
from gateway.simulator import Policy
from gateway.simulator.wired_box import Reply
from tests.errands.field import in_the_field
from tests.household import RIDGE, WREN, write_config

ERRANDS = """
  [[controllers.errands]]
  id = "status"
  text = "REPORT {time}"
  answer = "STATION WELL *"
  within = "2s"
  may = ["wren"]
  [[controllers.errands]]
  id = "clock"
  text = "CLOCK {time}"
  answer = "CLOCK SET"
  risk = "sets"
  [[controllers.errands]]
  id = "names"
  text = "NAMES A B"
  answer = "NAMES SET"
  risk = "sets"
  [[controllers.errands]]
  id = "flush"
  text = "OUT 1 ON"
  answer = "OUT 1 ON"
  risk = "switches"
  longest = "2s"
  stop_text = "OUT 1 OFF"
  may = ["wren"]
"""
KEYS = ["controller", "errand", "state", "sent_at", "answer", "answered_at", "round_trip_s"]


@pytest.fixture(scope="module")
def field(tmp_path_factory):
    """One daemon for all of these; the box is told how to answer by each."""
    with in_the_field(tmp_path_factory.mktemp("field"), controller=ERRANDS) as at_work:
        yield at_work


@pytest.mark.parametrize(
    ("reply", "state", "code"),
    [
        (Reply(text="STATION WELL {time}"), "answered", 0),
        (Reply(text="EH?"), "unexpected", 1),
        (Reply(text=None), "no-answer", 1),
    ],
)
def test_the_document_of_the_contract(field, reply, state, code):
    """Every key, whatever came of it."""
    field.box.replies = {"REPORT": reply}
    ended, document, _ = field.document("errand", "ridge", "status")
    assert (ended, document["state"], list(document)[: len(KEYS)]) == (code, state, KEYS)
    assert (document["answer"] is None) is (state == "no-answer") is (document["round_trip_s"] is None)
    assert re.fullmatch(r"REPORT \d\d:\d\d", field.box.heard[-1])


def test_the_network_refuses(field):
    """Nothing left, and nothing is said to have."""
    field.network.policy(RIDGE, Policy(refuse=28), times=1)  # 27.005: unidentified subscriber
    code, document, _ = field.document("errand", "ridge", "status")
    assert (code, document["state"], document["sent_at"]) == (1, "refused", None)


def test_what_sets_or_switches_is_asked_about_first(field):
    """Without --yes, and with nobody who could answer, it does not leave."""
    heard = len(field.box.heard)
    code, _, said = field.command("errand", "ridge", "clock")
    assert code == 1 and "was not sent" in said and len(field.box.heard) == heard


def test_a_new_box_is_set_up_with_one_command(field):
    """Its errands that set, in order; its clock goes right then."""
    field.box.replies = {"CLOCK": Reply(text="CLOCK SET"), "NAMES": Reply(text="NAMES SET")}
    code, document, _ = field.document("errand", "ridge", "--first", "--yes")
    assert code == 0 and [result["errand"] for result in document["errands"]] == ["clock", "names"]
    assert field.box.heard[-1] == "NAMES A B"
    field.box.replies = {"CLOCK": Reply(text="EH?")}
    code, document, _ = field.document("errand", "ridge", "--first", "--yes")
    assert (code, len(document["errands"]), document["undone"]) == (1, 1, ["names"])
    # The same octets twice, stamped within one second, are one text that the network brought twice.
    field.box.replies = {"CLOCK": Reply(text="EH? EH?")}
    code, told, _ = field.command("errand", "ridge", "--first", "--yes")
    assert code == 1 and "Not sent: names. Mend it, and begin again with --first." in " ".join(told.split())


def test_by_phone_with_a_code_and_it_ends_by_itself(field):
    """`ASK ridge flush`, `YES 4821`, the answer, and the stop text two seconds later."""
    field.box.replies = {"OUT 1 ON": Reply(text="OUT 1 ON"), "OUT 1 OFF": Reply(text="OUT 1 OFF")}
    field.box.says("STATION WELL {time}")
    field.network.deliver(WREN, "ASK ridge flush")
    code = field.until(lambda: re.search(r"YES (\d{4})", " ".join(field.got(WREN))), "the code")
    field.network.deliver(WREN, f"YES {code[1]}")
    field.until(lambda: "OUT 1 OFF" in field.box.heard, "the stop text")
    field.until(lambda: any("was told to end flush" in text for text in field.got(WREN)), "that it ended")
    assert any("answered flush" in text and text.endswith("OUT 1 ON") for text in field.got(WREN))


def test_what_the_terminal_says(field):
    """A line and the answer; the list; names that are none."""
    field.box.replies = {"REPORT": Reply(text="STATION WELL {time}")}
    code, out, _ = field.command("errand", "Ridge box", "STATUS")
    assert code == 0 and re.search(
        r"Ridge box, status: sent .*, answered after \d+\.\d s\.\n  STATION WELL \d\d:\d\d", out
    )
    code, out, _ = field.command("errand", "ridge")
    assert code == 0 and all(id in out for id in ("status", "clock", "names", "flush"))
    assert [field.command("errand", *words)[0] for words in (("ridge", "stauts"), ("rigde", "status"))] == [1, 1]


def test_without_a_daemon_it_says_so_and_leaves_nothing_behind(tmp_path, capsys):
    """Nothing waits in the outbox for a day on which nobody thinks of it any more."""
    file = str(write_config(tmp_path, controller=ERRANDS))
    assert main(["errand", "ridge", "status", "--config", file]) == 1
    assert "no daemon runs" in capsys.readouterr().err
    assert main(["errand", "--json", "--config", file]) == 0
    assert len(json.loads(capsys.readouterr().out)["errands"]) == 4
