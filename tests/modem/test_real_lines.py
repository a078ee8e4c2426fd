"""The real dialogue on what real devices have said, where that collection lies beside the project; else skipped.

`../shared/published/real_lines.json` has each line with where it was seen, in groups; `real_pdus.json` messages with what they stand for.
"""

import json
from collections import defaultdict
from datetime import UTC, datetime
from pathlib import Path

import pytest

from gateway.errors import ModemRefused
from gateway.facts import Delivered, Report, Undecodable
from gateway.modem.condition import REGISTERED
from gateway.modem.grammar import figures, is_answer, is_known_news, name_and_fields
from gateway.modem.memories import Memories
from gateway.modem.parse_listing import arrival_in, listed_in
from gateway.modem.pdu import decode
from gateway.modem.sending import reference_in
from gateway.modem.sim import PatientCommands, Pin, SimLock
from gateway.modem.ussd import answer_in
from gateway.simulator import Habits
from gateway.simulator.pdus import deliver_pdus, tpdu_octets
from tests.fakes.fake_modem import NETWORK_TIME
from tests.modem.test_dialogue import OK, talk
from tests.modem.test_makes import bench_of, lives_through

FOLDER = next(
    (
        folder / "shared/published"
        for folder in Path(__file__).resolve().parents
        if (folder / "shared/published/real_lines.json").exists()
    ),
    None,
)
pytestmark = pytest.mark.skipif(FOLDER is None, reason="the collection of real lines does not lie beside the project")


def lines_of() -> dict[str, list[str | None]]:
    groups: dict[str, list[str | None]] = defaultdict(list)
    for entry in json.loads((FOLDER / "real_lines.json").read_text("utf-8"))["lines"] if FOLDER else ():
        groups[entry["group"]].append(entry["line"])
    return groups


def pdus_of(*kinds: str) -> list:
    listed = json.loads((FOLDER / "real_pdus.json").read_text("utf-8"))["pdus"] if FOLDER else ()
    return [pytest.param(entry, id=entry["id"]) for entry in listed if entry["kind"] in kinds]


LINES = lines_of()
PDU = deliver_pdus("+61491570006", "ZONE 1 OPEN", NETWORK_TIME)[0]
LENGTH = tpdu_octets(PDU)


def commands_on(*answers):
    dialogue, wire, heard = talk(*answers)
    return PatientCommands(dialogue, within_s=1.0, pause=lambda seconds: None), dialogue, wire, heard


@pytest.mark.parametrize("alpha", LINES["alpha"])
def test_names_in_headers(alpha):
    """In listings and in single slots."""
    behind = str(LENGTH) if alpha is None else f"{alpha},{LENGTH}"
    assert [held.slot for held in listed_in("SM", [f"+CMGL: 3,0,{behind}", PDU], doubted=()).held] == [3]
    assert arrival_in([f"+CMGR: 0,{behind}", PDU]) == PDU


@pytest.mark.parametrize("line", [*LINES["creg ok"], *LINES["creg lte"]])
def test_registrations_that_were_asked_for(line):
    """The second figure tells it."""
    dialogue, _, heard = talk([(0.01, line), OK])
    name = line.partition(":")[0]
    answer = dialogue.command(f"AT{name}?")
    assert answer == [line] and not heard
    assert (figures(name_and_fields(line)[1])[1] in REGISTERED) is (not line.endswith("CREG: 0,0"))


@pytest.mark.parametrize("line", LINES["creg news"])
def test_registrations_that_nobody_asked_for(line):
    """News, also in the middle of the answer under the same name."""
    name = line.partition(":")[0]
    dialogue, _, heard = talk([(0.01, line), (0.01, f"{name}: 0,1"), OK])
    assert dialogue.command(f"AT{name}?") == [f"{name}: 0,1"]
    assert [news.line for news in heard] == [line] and not is_answer(name, line) and is_known_news(line)


@pytest.mark.parametrize("line", LINES["cpms"])
def test_memories_on_offer(line):
    """One can be found from each of them."""
    holds = [(0.01, "+CPMS: 0,10,0,10,0,10"), OK]
    commands, *_ = commands_on([(0.01, line), OK], *[holds] * 6)
    memories = Memories(commands)
    memories.choose()
    assert memories.names and set(memories.names) <= {"SM", "ME", "MT"}


@pytest.mark.parametrize("line", LINES["errors"])
def test_refusals(line):
    """Each ends the command, but what ends a call does not."""
    dialogue, _, _ = talk([(0.01, line), (0.01, "ERROR")], [OK], [OK], [OK])
    with pytest.raises(ModemRefused):
        dialogue.command("AT+CSQ", within_s=0.5)


@pytest.mark.parametrize("line", LINES["cpin"])
def test_what_the_sim_says(line):
    """The PIN is given where it is wanted; what passes is waited for."""
    answer = [(0.01, line.removesuffix(" without OK"))] + (
        [OK] if line.startswith("+CPIN") and "without" not in line else []
    )
    given: list[str] = []
    ready = [(0.01, "+CPIN: READY"), OK]
    commands, dialogue, wire, _ = commands_on(answer, *([[OK]] if "SIM PIN" in line else []), *[ready] * 3)
    pin = Pin(pin="1234", tried=lambda: False, mark_tried=lambda: given.append("marked"))
    SimLock(dialogue, commands, pin).unlock()
    assert (b'AT+CPIN="1234"\r' in wire.written) is ('"SIM PIN"' in line)


CHATTER = [
    line for group, lines in LINES.items() if group == "chatter" or group.startswith("boot") for line in lines if line
]


@pytest.mark.parametrize("line", [line for line in CHATTER if not line.startswith("+CPIN")])
def test_chatter_is_known(line):
    """And changes no answer."""
    assert is_known_news(line)
    dialogue, _, heard = talk(
        [(0.01, line), (0.01, f"+CMGL: 3,0,,{LENGTH}"), (0.01, line), (0.01, PDU), (0.01, line), OK]
    )
    assert listed_in("SM", dialogue.command("AT+CMGL=4"), doubted=()).held[0].pdu == PDU
    assert [news.line for news in heard] == [line] * 3


def test_a_life_among_chatter(tmp_path):
    """All of it, strewn into everything that the modem says; what tells of a new start is another matter."""
    chatter = tuple(line for line in CHATTER if line.isascii() and not line.startswith(("RDY", "+CPIN", "+CMTI")))
    bench = bench_of(tmp_path, Habits(own_lines=chatter, own_every_s=0.5))
    bench.simulated.faults.strewn = 0.4
    try:
        assert lives_through(bench) == ["ZONE 1 OPEN", "ZONE 2 OPEN"]
    finally:
        bench.close()


@pytest.mark.parametrize("prompt", LINES["prompt"])
def test_prompts(tmp_path, prompt):
    """Each asks for a text, and gets it."""
    bench = bench_of(tmp_path, Habits(prompt=prompt.encode()))
    try:
        assert lives_through(bench) == ["ZONE 1 OPEN", "ZONE 2 OPEN"]
    finally:
        bench.close()


@pytest.mark.parametrize("line", LINES["cmgs"])
def test_references(line):
    assert reference_in([line % 41]) == 41


@pytest.mark.parametrize("line", LINES["send errors"])
def test_send_errors(line):
    """Refused, whatever the words."""
    dialogue, _, _ = talk([(0.01, line)])
    with pytest.raises(ModemRefused):
        dialogue.hand_over("0011", "AT+CMGS=2", within_s=1.0)


@pytest.mark.parametrize("line", LINES["not ready"])
def test_a_store_that_is_not_ready(tmp_path, line):
    """Waited for."""
    bench = bench_of(tmp_path, Habits(store_after_s=1.5, not_ready=line))
    try:
        assert lives_through(bench) == ["ZONE 1 OPEN", "ZONE 2 OPEN"]
    finally:
        bench.close()


@pytest.mark.parametrize("line", LINES["ussd"])
def test_answers_of_the_network(line):
    text, _, _ = answer_in(line.replace("\r\n", "\n"))
    assert text and ("12.34" in text or "00" not in text)


@pytest.mark.parametrize("line", [*LINES["cds"], *(line % LENGTH for line in LINES["cmt"] if line)])
def test_what_is_shown_and_not_kept(line):
    """With the PDU in the next line."""
    dialogue, _, heard = talk([(0.01, line), (0.01, PDU), OK])
    dialogue.command("AT+CSQ")
    assert [news.pdu for news in heard] == [PDU]


@pytest.mark.parametrize("entry", pdus_of("deliver"))
def test_messages(entry):
    """Sender, stamp, words and part."""
    content = decode(entry["pdu"])
    assert isinstance(content, Delivered)
    if entry["number"]:
        assert content.sender == entry["number"]
    if entry.get("stamp"):
        assert content.stamp == datetime.fromisoformat(entry["stamp"]).astimezone(UTC)
    if entry["text"] is not None:
        assert content.text == entry["text"]
    if entry.get("part"):
        assert content.part is not None
        assert [content.part.total, content.part.number] == entry["part"][1:]


@pytest.mark.parametrize("entry", pdus_of("report"))
def test_reports(entry):
    content = decode(entry["pdu"])
    assert isinstance(content, Report)
    assert (content.reference, content.number, content.status) == (entry["reference"], entry["number"], entry["status"])


@pytest.mark.parametrize("entry", pdus_of("broken", "submit"))
def test_what_is_no_message(entry):
    """Said so, never guessed at."""
    assert isinstance(decode(entry["pdu"]), Undecodable)


@pytest.mark.parametrize("entry", pdus_of("broadcast"))
def test_broadcasts(entry):
    """Texts to nobody: left where they stand."""
    listing = listed_in("SM", [f"+CMGL: 3,0,,{len(entry['pdu']) // 2}", entry["pdu"]], doubted=())
    assert (listing.held, listing.own) == ((), 1)
