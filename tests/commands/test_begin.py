"""`begin`: a first configuration by questions, at a real terminal; wrong answers are asked again, and an interruption costs nothing."""

import os
import pty
import select
import subprocess
import sys

import pytest

from gateway.commands.begin import configuration_by_questions
from gateway.commands.conversation import Conversation, Left
from gateway.commands.first_configuration import unique_ids
from gateway.commands.trap_checks import CHECKS
from gateway.settings.load import load, load_text
from gateway.simulator import SimulatedModem
from tests.household import RIDGE, STRANGER

CHAT = """12/03/26, 07:14 - Pump box: LINE 1 MADE 0714
12/03/26, 08:14 - Pump box: LINE 1 BROKE 0814
13/03/26, 06:00 - Pump box: DAILY REPORT 12.4V
"""
PLACE = ["Quandong Ridge", "AU", "Australia/Sydney", "", "simulated", "Ridge box", "0491 570 006"]
LABELS = ["f", "1", "l", "f", "1", "w", "a"]
ROUND = ["1", "", "r", "around 6.3", "1.8", "1", "0.45", ""]
PEOPLE = ["2", "Wren", "0491 570 156", "Robin", "02 5550 1234", "4"]


@pytest.fixture
def chat(tmp_path):
    """A file of texts, as a phone copies them."""
    file = tmp_path / "texts.txt"
    file.write_text(CHAT)
    return str(file)


def asked(tmp_path, answers):
    """The file's text, from these answers; every one is used."""
    waiting = iter(answers)
    talk = Conversation(tmp_path / "kept", lambda question: next(waiting))
    text = configuration_by_questions(talk, "sqlite:////tmp/x.db")
    assert next(waiting, None) is None
    return text


def left_after(tmp_path, answers):
    """Whoever answers goes away in the middle (Ctrl-C): what was answered is kept for the next sitting."""
    waiting = iter(answers)

    def ask(question):
        answer = next(waiting, None)
        if answer is None:
            raise KeyboardInterrupt
        return answer

    with pytest.raises(Left):
        configuration_by_questions(Conversation(tmp_path / "kept", ask), "sqlite:////tmp/x.db")


def test_the_file_holds_and_says_what_was_answered(tmp_path, chat):
    """Rules from the labels, a round tank by its girth, a landline that is spoken to, a weekly message."""
    text = asked(tmp_path, [*PLACE, chat, *LABELS, *ROUND, *PEOPLE])
    loaded = load_text(text, "first.toml", CHECKS)
    settings = loaded.settings
    (tank,) = settings.tanks
    assert (tank.id, tank.floats[0].input, tank.floats[0].level_m) == ("house", 1, 0.45)
    assert (tank.shape.diameter_m, tank.shape.height_m) == (2.005, 1.8)
    assert [rule.means for rule in settings.controllers[0].rules] == ["alive", "input", "reading"]
    assert [(contact.id, contact.line, contact.turn) for contact in settings.contacts] == [
        ("wren", "mobile", 1),
        ("robin", "landline", 2),
    ]
    assert (settings.digest.day, settings.digest.contacts, settings.demand.people) == ("sunday", ("wren",), 4)
    assert [note.wrong for note in loaded.warnings if "fiction" not in note.wrong] == []


def test_texts_that_the_modem_has_kept(tmp_path, capsys):
    """The box's alone, as a file of them would be taken; none is deleted, and what keeps from reading them is asked about."""
    with SimulatedModem(str(tmp_path / "port")) as modem:
        place = [*PLACE[:4], modem.device, *PLACE[5:]]
        modem.network.deliver(STRANGER, "HELLO")
        answers = [*PLACE[:4], str(tmp_path / "none"), *PLACE[5:], "modem", "", *ROUND, *PEOPLE]
        assert "[[controllers.rules]]" not in asked(tmp_path, answers).replace("# ", "#")
        assert "the modem cannot be read" in capsys.readouterr().out
        (tmp_path / "kept").unlink()
        answers = [*place, "modem", "", *ROUND, *PEOPLE]
        asked(tmp_path, answers)
        assert "keeps no text of Ridge box, only 1 of others" in capsys.readouterr().out
        (tmp_path / "kept").unlink()
        for text in ("LINE 1 MADE 0714", "LINE 1 BROKE 0814", "DAILY REPORT 12.4V"):
            modem.network.deliver(RIDGE, text)
        settings = load_text(asked(tmp_path, [*place, "Modem", *LABELS, *ROUND, *PEOPLE]), "first.toml").settings
        assert [rule.means for rule in settings.controllers[0].rules] == ["alive", "input", "reading"]
        assert len(modem.slots) == 4


def test_a_wrong_answer_is_asked_again(tmp_path, capsys):
    """With what would be right; nothing of it gets into the file."""
    answers = [
        "",
        "Quandong Ridge",
        "xx",
        "AU",
        "Mars/Base",
        "Australia/Sydney",
        "xy",
        "de",
        "simulated",
        "",
        "12",
        "0491 570 006",
    ]
    more = [
        "/no/such/file",
        "",
        "x",
        "1",
        "",
        "z",
        "l",
        "-3",
        "3000",
        "1,5",
        "1",
        "9",
        "0.4",
        "",
        "0",
        "1",
        "",
        "Wren",
        "hello",
        "0491 570 156",
        "2",
    ]
    text = asked(tmp_path, [*answers, *more])
    out = capsys.readouterr().out
    for right in (
        "two letters",
        "Australia/Sydney",
        "one of de, en, es, uk",
        "no phone number of AU",
        "cannot be read",
        "only 1.5 m high",
        "at least one",
    ):
        assert right in out
    assert load_text(text, "first.toml", CHECKS).settings.tanks[0].shape.litres == 3000


def test_a_chain_of_tanks(tmp_path):
    """The second is fed by the first; a tank of which nobody knows the size has none."""
    tanks = ["2", "Spring tank", "n", "2", "", "", "b", "2", "1", "1.2", "1", "0.3", "", "spring tank"]
    settings = load_text(asked(tmp_path, [*PLACE, "", *tanks, *PEOPLE]), "first.toml").settings
    assert [(tank.id, tank.fed_by) for tank in settings.tanks] == [("spring", ()), ("house", ("spring",))]
    assert (settings.tanks[0].shape, settings.tanks[1].shape.kind) == (None, "box")


def test_what_was_answered_is_not_asked_again(tmp_path, chat):
    """However often it is interrupted."""
    everything = [*PLACE, chat, *LABELS, *ROUND, *PEOPLE]
    for begun, stop in ((0, 3), (3, 9), (9, 17)):
        left_after(tmp_path, everything[begun:stop])
    whole = asked(tmp_path, everything[17:])
    assert load_text(whole, "first.toml").settings.tanks[0].id == "house"


def test_a_village_with_a_gauge_and_no_float(tmp_path):
    """The gauge is labelled by its one letter, and the tank asks what its number is and when it is low."""
    texts = tmp_path / "texts.txt"
    texts.write_text("LVL 78%\nLVL 64%\nLVL 31%\nping 0600\nping 1800\n")
    gauge = ["1", "Village tank", "r", "5.5", "2.4", "1", "percent", "0.7", "", ""]
    text = asked(tmp_path, [*PLACE, str(texts), "g", "", "a", *gauge, *PEOPLE])
    (tank,) = load_text(text, "first.toml", CHECKS).settings.tanks
    (read,) = tank.gauges
    assert (read.input, read.reads, read.low_m, tank.floats) == ("1", "percent", 0.7, ())
    assert 'text = "LVL {level}%"' in text


@pytest.mark.parametrize(
    ("names", "ids"),
    [(["House tank", "House pond"], ["house", "house2"]), (["2nd tank"], ["2nd"]), (["Бак"], ["бак"]), (["!!"], ["x"])],
)
def test_ids(names, ids):
    """The first word, numbered where two begin alike."""
    assert unique_ids(names) == ids


def at_a_terminal(arguments, answers):
    """The command on a pseudo-terminal, each answer once it asks: (exit code, what it said)."""
    master, slave = pty.openpty()
    started = subprocess.Popen(
        [sys.executable, "-m", "gateway", *arguments], stdin=slave, stdout=slave, stderr=slave, start_new_session=True
    )
    os.close(slave)
    said, waiting = b"", iter(answers)
    while True:
        ready, _, _ = select.select([master], [], [], 30)
        try:
            more = os.read(master, 4096) if ready else b""
        except OSError:
            more = b""
        if not more:
            break
        said += more
        if said.endswith((b": ", b"> ")):
            answer = next(waiting, None)
            os.write(master, b"\x04" if answer is None else f"{answer}\n".encode())
            said += b"\n"
    os.close(master)
    return started.wait(timeout=120), said.decode()


def test_at_a_real_terminal(tmp_path, chat):
    """Interrupted in the middle, gone on with, written once; then it is there and is left as it is."""
    file = tmp_path / "my.toml"
    begin = ["begin", "--config", str(file)]
    code, said = at_a_terminal(begin, PLACE)
    assert (code, file.exists()) == (1, False) and "The same command goes on here" in said
    code, said = at_a_terminal(begin, [chat, *LABELS, *ROUND, *PEOPLE])
    assert code == 0, said
    assert "Going on after 7 answers" in said and "is written and holds" in said
    assert load(str(file), CHECKS).settings.site.name == "Quandong Ridge"
    code, said = at_a_terminal(begin, [])
    assert code == 1 and "is there already and is left as it is" in said


def test_without_a_terminal_nothing_is_asked(tmp_path):
    """A script would answer what it does not know."""
    done = subprocess.run(
        [sys.executable, "-m", "gateway", "begin", "--config", str(tmp_path / "my.toml")],
        input=b"x\n",
        capture_output=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 2 and b"asks at a terminal" in done.stderr
